/** The records that one transaction works on: each read once, written once when the work is done. */
import type { OutboxEntry, StoredRecord, Writing } from './schema';

const PIECE = 50;

export interface Desk {
  tx: Writing;
  /** Read these in one go: asked for one after another they take a round trip each. */
  fetch(ids: readonly string[]): Promise<void>;
  record(id: string): Promise<StoredRecord | undefined>;
  put(record: StoredRecord): void;
  /** What the outbox holds about that record, without what was dropped. */
  entries(id: string): Promise<OutboxEntry[]>;
  /** Take an entry out of the outbox. */
  drop(entry: OutboxEntry): void;
  /** Write all that was put, delete all that was dropped. */
  close(): Promise<void>;
}

/** An empty desk in that transaction; the kinds of what is put are noted in `kinds`. */
export function openDesk(tx: Writing, kinds: Set<string>): Desk {
  const read = new Map<string, StoredRecord | undefined>();
  const written = new Map<string, StoredRecord>();
  const dropped = new Set<number>();
  const outbox = tx.objectStore('outbox');
  const fetch = async (ids: readonly string[]) => {
    const missing = [...new Set(ids)].filter((id) => !read.has(id));
    const found = await Promise.all(missing.map((id) => tx.objectStore('records').get(id)));
    missing.forEach((id, i) => read.set(id, found[i]));
  };
  return {
    tx,
    fetch,
    record: async (id) => {
      if (!read.has(id)) await fetch([id]);
      return read.get(id);
    },
    put: (record) => {
      kinds.add(record.kind);
      read.set(record.id, record);
      written.set(record.id, record);
    },
    entries: async (id) => (await outbox.index('record').getAll(id)).filter((entry) => !dropped.has(entry.seq)),
    drop: (entry) => void dropped.add(entry.seq),
    close: async () => {
      await inPieces([...written.values()], (some) => Promise.all(some.map((record) => tx.objectStore('records').put(record))));
      await inPieces([...dropped], (some) => Promise.all(some.map((seq) => outbox.delete(seq))));
    },
  };
}

/** Work through very many a piece at a time: a thousand at once would hold up the page, which has a turn between two pieces. */
export async function inPieces<T>(all: readonly T[], act: (some: readonly T[]) => Promise<unknown>): Promise<void> {
  for (let from = 0; from < all.length; from += PIECE) await act(all.slice(from, from + PIECE));
}
