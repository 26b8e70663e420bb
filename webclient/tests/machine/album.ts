/** A small server's side of photos, which takes pieces as the real one does, for tests without a network. */
import type { Ask, FetchJson, Reply } from '../../src/sync/http';

const LIMIT = 256 * 1024;

/** A server's side of photos: what it has of each, and what it was asked. */
export class Album {
  readonly parts = new Map<string, Uint8Array>();
  readonly kept = new Set<string>();
  readonly asked: string[] = [];
  /** What answers instead, if anything does. */
  instead: (path: string, ask?: Ask) => Reply | Error | undefined = () => undefined;

  readonly fetchJson: FetchJson = async (path, ask) => {
    const name = path.split('/')[4] as string;
    const body = ask?.body as { bytes: number; offset: number; piece: string } | undefined;
    this.asked.push(body ? `${body.offset}+${atob(body.piece).length}` : 'state');
    const other = this.instead(path, ask);
    if (other instanceof Error) throw other;
    return other ?? { status: 200, body: body ? this.take(name, body) : this.state(name) };
  };

  private state(name: string) {
    const room = { used_bytes: 0, limit_bytes: 10 ** 9, free_bytes: 10 ** 9 };
    return { kept: this.kept.has(name), had: this.parts.get(name)?.length ?? 0, piece_limit_bytes: LIMIT, photo_limit_bytes: 8_000_000, room };
  }

  private take(name: string, { bytes, offset, piece }: { bytes: number; offset: number; piece: string }) {
    const had = this.parts.get(name) ?? new Uint8Array();
    if (offset !== had.length) throw new Error(`a piece at ${offset}, and the server has ${had.length}`);
    const all = Uint8Array.from([...had, ...Array.from(atob(piece), (letter) => letter.charCodeAt(0))]);
    this.parts.set(name, all);
    if (all.length === bytes) this.kept.add(name);
    return { kept: this.kept.has(name), had: all.length };
  }
}
