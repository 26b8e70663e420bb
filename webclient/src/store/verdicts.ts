/** What becomes of the entries that were sent, by the server's verdict on each. */
import type { Answer, Verdict } from '../records/exchange';
import { merge } from '../records/merge';
import type { Stamp } from '../records/stamps';
import { isOnlyGone } from './bringing';
import type { Desk } from './desk';
import { laidOut } from './overlay';
import { inState, type OutboxEntry, type OutgoingFields, type StoredRecord, type Writing } from './schema';

/** How a batch was judged. */
export interface Judged {
  /** Entries that are off the queue: taken, put off or refused. */
  settled: number;
  refused: number;
  /** Entries whose stamps were ahead of the server's clock; they go again. */
  clock: number;
  /** Records that the server had lost and has taken back. */
  brought: number;
  /** Stamps that the server has taken. */
  stamps: Stamp[];
}

export const NOTHING_JUDGED: Judged = { settled: 0, refused: 0, clock: 0, brought: 0, stamps: [] };

/** Apply the verdicts, which stand in the order of the entries; `person` is signed in. */
export async function applyVerdicts(desk: Desk, sent: readonly OutboxEntry[], answer: Answer, person: string | null): Promise<Judged> {
  if (answer.verdicts.length !== sent.length) throw new Error('the answer has not one verdict for each change');
  const judged: Judged = { ...NOTHING_JUDGED, stamps: [] };
  await desk.fetch(sent.map((entry) => entry.record));
  const entries = await entriesNow(desk, sent);
  for (const [i, verdict] of answer.verdicts.entries()) {
    const entry = entries[i];
    // Judged by an earlier copy of this answer, or written anew since.
    if (entry === undefined || entry.state === 'refused' || !isSameWriting(entry, sent[i] as OutboxEntry)) continue;
    await apply(desk, entry, verdict, answer.schema, person);
    count(judged, entry, verdict);
  }
  return judged;
}

/** Send again what an older server did not know. */
export async function reviveLater(tx: Writing, schema: number): Promise<void> {
  const put = await tx.objectStore('outbox').index('turn').getAll(inState('later'));
  const known = put.filter((entry) => (entry.schema ?? 0) < schema);
  await Promise.all(known.map((entry) => tx.objectStore('outbox').put({ ...entry, state: 'waiting' })));
}

/** The entries of a batch as the outbox holds them now, read in one go. */
async function entriesNow(desk: Desk, sent: readonly OutboxEntry[]): Promise<(OutboxEntry | undefined)[]> {
  if (sent.length === 0) return [];
  const numbers = sent.map((entry) => entry.seq);
  const range = IDBKeyRange.bound(Math.min(...numbers), Math.max(...numbers));
  const held = new Map((await desk.tx.objectStore('outbox').getAll(range)).map((entry) => [entry.seq, entry]));
  return numbers.map((seq) => held.get(seq));
}

function isSameWriting(entry: OutboxEntry, sent: OutboxEntry): boolean {
  return Object.entries(entry.fields).every(([name, field]) => sent.fields[name]?.stamp === field.stamp);
}

function count(judged: Judged, entry: OutboxEntry, verdict: Verdict): void {
  if (verdict.verdict === 'clock') judged.clock += 1;
  else judged.settled += 1;
  if (verdict.verdict === 'refused') judged.refused += 1;
  if (verdict.verdict !== 'taken' && verdict.verdict !== 'later') return;
  const taken = Object.entries(entry.fields).filter(([name]) => !verdict.fields.includes(name));
  if (entry.state === 'whole' && !entry.isReplaced && !isOnlyGone(entry) && taken.length > 0) judged.brought += 1;
  judged.stamps.push(...taken.map(([, field]) => field.stamp));
}

async function apply(desk: Desk, entry: OutboxEntry, verdict: Verdict, schema: number, person: string | null): Promise<void> {
  const outbox = desk.tx.objectStore('outbox');
  if (verdict.verdict === 'clock') return void (await outbox.put({ ...entry, sent: false, returned: true }));
  if (verdict.verdict === 'refused') return refuse(desk, entry, verdict.reason ?? '', person);
  const left = pick(entry.fields, verdict.fields);
  await takeFields(desk, entry, left);
  if (Object.keys(left).length === 0) return desk.drop(entry);
  await outbox.put({ ...entry, fields: left, state: 'later', schema });
}

async function takeFields(desk: Desk, entry: OutboxEntry, left: OutgoingFields): Promise<void> {
  const record = (await desk.record(entry.record)) as StoredRecord;
  const names = Object.keys(entry.fields).filter((name) => !Object.hasOwn(left, name));
  const theirs = merge(record.theirs ?? record.fields, pick(entry.fields, names));
  const waiting = record.waiting - (Object.keys(left).length === 0 ? 1 : 0);
  desk.put(waiting > 0 ? { ...record, theirs, waiting } : laidOut({ ...record, theirs }, []));
}

async function refuse(desk: Desk, entry: OutboxEntry, reason: string, person: string | null): Promise<void> {
  const outbox = desk.tx.objectStore('outbox');
  const record = (await desk.record(entry.record)) as StoredRecord;
  // That a record was taken away need not have been his own doing.
  const mine = entry.state !== 'whole' || (record.author === person && !isOnlyGone(entry));
  desk.put(record);
  if (mine) return void (await outbox.put({ ...entry, state: 'refused', by: person ?? '', reason }));
  desk.drop(entry);
  const others = await desk.entries(entry.record);
  // What the server had never heard of stays on this phone as it is; else the server's word stands.
  const unheard = Object.keys(record.theirs ?? {}).length === 0;
  desk.put(laidOut(unheard ? { ...record, theirs: merge({}, entry.fields) } : record, others));
}

function pick(fields: OutgoingFields, names: readonly string[]): OutgoingFields {
  return Object.fromEntries(Object.entries(fields).filter(([name]) => names.includes(name)));
}
