/** The past of an entry as a page asks for it: a page of it after another, kept on this device for when there is no connection. */
import type { FieldWriting, Json, Rec, Store } from '../store';
import { Refused } from '../sync/api';
import { askHistory, type RecordHistory } from '../sync/history';
import { Offline } from '../sync/http';
import { joinedRecords } from './history';
import { textOf } from './holding';

const NAME = 'pasts';
/** As many of them as a person may go back to; each is a few kilobytes. */
const KEPT = 12;
const ABOUT_BROODS = ['look', 'mark', 'feeding', 'photo'];

interface Kept {
  readonly id: string;
  readonly at: string;
  readonly records: RecordHistory[];
  readonly next: number | null;
}

/** What the server told of it, now or earlier. */
export class Looked {
  records = $state.raw<readonly RecordHistory[]>([]);
  next = $state<number | null>(null);
  state = $state<'asking' | 'told' | 'offline'>('asking');
  wrong = $state<string | null>(null);
  /** When what is shown was told, where it is not from now. */
  keptAt = $state.raw<Date | null>(null);

  private of: 'record' | 'brood' = 'record';

  constructor(
    private readonly store: Store,
    private readonly id: string,
  ) {}

  /** Ask for the latest of it; without a connection what was told last stands. */
  async look(of: 'record' | 'brood', now: Date): Promise<void> {
    this.of = of;
    if (this.records.length === 0) await this.recall();
    await this.ask(0, (told) => {
      this.records = told.records;
      this.keptAt = null;
      return this.keep({ id: this.id, at: now.toISOString(), ...told });
    });
  }

  /** Ask for what came before. */
  async more(): Promise<void> {
    await this.ask(this.next ?? 0, async (told) => void (this.records = joinedRecords(this.records, told.records)));
  }

  /** These rows in the order in which the server told of their records: what was replaced last comes first. */
  inOrder<T extends { record: Rec }>(rows: readonly T[]): T[] {
    const place = ({ record }: T): number => {
      const told = this.records.findIndex((one) => one.id === record.id);
      // What the server does not know of yet, or what asks for an answer, is newest.
      return told === -1 || record.concurrent.length > 0 ? -1 : told;
    };
    return [...rows].sort((a, b) => place(a) - place(b));
  }

  private async ask(first: number, take: (told: Pick<Kept, 'records' | 'next'>) => Promise<void>): Promise<void> {
    this.state = 'asking';
    this.wrong = null;
    try {
      const told = await askHistory(this.of, this.id, first);
      this.next = told.next;
      await take(told);
      this.state = 'told';
    } catch (error) {
      this.state = error instanceof Offline ? 'offline' : 'told';
      if (error instanceof Offline || isUnheardOf(error)) return;
      if (!(error instanceof Refused)) throw error;
      this.wrong = error.message;
    }
  }

  private async recall(): Promise<void> {
    const kept = (await keptOnes(this.store)).find((one) => one.id === this.id);
    if (kept === undefined) return;
    [this.records, this.next, this.keptAt] = [kept.records, kept.next, new Date(kept.at)];
  }

  private async keep(one: Kept): Promise<void> {
    const others = (await keptOnes(this.store)).filter((other) => other.id !== one.id);
    await this.store.jot(NAME, [one, ...others].slice(0, KEPT) as unknown as Json);
  }
}

/** The server has nothing of an entry that has not gone up yet: then it has no past but what this device knows. */
function isUnheardOf(error: unknown): boolean {
  return error instanceof Refused && error.status === 404;
}

async function keptOnes(store: Store): Promise<Kept[]> {
  return ((await store.setting<Json>(NAME)) ?? []) as unknown as Kept[];
}

/** What a page of the past is about. */
interface Subject {
  readonly subject: Rec | undefined;
  /** The brood that it belongs to. */
  readonly brood: string | null;
  /** The batch that it is or belongs to. */
  readonly batch: string | null;
  readonly records: readonly { readonly record: Rec; readonly own: readonly FieldWriting[] }[];
  /** The latest revision of it that this device has: with a later one the server has more to tell. */
  readonly revision: number;
}

/** An entry, or a brood with everything about it, each with what this device knows of its writing; `ids` are others that were told of. */
export async function subjectOf(store: Store, id: string, ids: readonly string[]): Promise<Subject> {
  const subject = await store.get(id);
  const about = subject?.kind === 'brood' ? (await Promise.all(ABOUT_BROODS.map((kind) => store.about(id, kind, { gone: true })))).flat() : [];
  const told = await Promise.all(ids.filter((one) => one !== id && about.every((record) => record.id !== one)).map((one) => store.get(one)));
  const all = [subject, ...about, ...told].filter((record) => record !== undefined);
  // Of the others the phone knows nothing that could be told.
  const worth = all.filter((record) => record.id === id || ids.includes(record.id) || record.waiting || record.concurrent.length > 0);
  const records = await Promise.all(worth.map(async (record) => ({ record, own: await store.writings(record.id) })));
  const revision = Math.max(0, ...[subject, ...about].map((record) => record?.revision ?? 0));
  const batch = subject?.kind === 'batch' ? id : await ownerOf(store, subject, 'batch');
  return { subject, brood: await ownerOf(store, subject, 'brood'), batch, records, revision };
}

async function ownerOf(store: Store, subject: Rec | undefined, kind: string): Promise<string | null> {
  const about = textOf(subject, 'about');
  return about !== null && (await store.get(about))?.kind === kind ? about : null;
}
