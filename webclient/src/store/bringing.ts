/** After a restore of the server: all that the phone holds is laid out to go up again, less what the server has. */
import type { Row } from '../records/exchange';
import { canonical } from '../records/json';
import { merge, wins, type StampedField, type StampedFields } from '../records/merge';
import type { Desk } from './desk';
import { laidOut } from './overlay';
import type { OutboxEntry, OutgoingFields, StoredRecord, Writing } from './schema';

const CHUNK = 500;

/** Lay out every record that a server once had; what has never been taken waits in the outbox anyway. */
export async function bringAll(tx: Writing): Promise<void> {
  const entries = byRecord(await tx.objectStore('outbox').getAll());
  for (let after: IDBKeyRange | null = null; ; ) {
    const records: StoredRecord[] = await tx.objectStore('records').getAll(after, CHUNK);
    await Promise.all(records.map((record) => bring(tx, record, entries.get(record.id) ?? [])));
    const last = records.at(-1);
    if (last === undefined) break;
    after = IDBKeyRange.lowerBound(last.id, true);
  }
  for (const row of await tx.objectStore('derived').getAll()) {
    // Shown until the restored server sends its own, whose revisions may be lower.
    await tx.objectStore('derived').put({ ...row, revision: -1 });
  }
}

/** Take out of the record's whole what the row shows the server to have; what is left is known to follow on it. */
export async function coverWhole(desk: Desk, record: StoredRecord, row: Row): Promise<StoredRecord> {
  const entries = await desk.entries(record.id);
  const stay: OutboxEntry[] = [];
  for (const entry of entries) {
    const left = entry.state === 'whole' ? uncovered(entry, row.fields) : entry;
    if (Object.keys(left.fields).length === 0) desk.drop(entry);
    else stay.push(left);
    if (left !== entry && Object.keys(left.fields).length > 0) await desk.tx.objectStore('outbox').put(left);
  }
  return stay.length === entries.length ? record : laidOut(record, stay);
}

/** Whether nothing but a record's being taken away is brought back. */
export function isOnlyGone({ state, fields }: OutboxEntry): boolean {
  return state === 'whole' && Object.keys(fields).every((name) => name === 'gone');
}

function byRecord(entries: readonly OutboxEntry[]): Map<string, OutboxEntry[]> {
  const groups = new Map<string, OutboxEntry[]>();
  for (const entry of entries) groups.set(entry.record, [...(groups.get(entry.record) ?? []), entry]);
  return groups;
}

async function bring(tx: Writing, record: StoredRecord, entries: readonly OutboxEntry[]): Promise<void> {
  const outbox = tx.objectStore('outbox');
  const older = entries.filter((entry) => entry.state === 'whole');
  const others = entries.filter((entry) => entry.state !== 'whole');
  const parts = [record.theirs ?? record.fields, ...older.map((entry) => entry.fields)];
  const held = parts.reduce<StampedFields>(merge, {});
  await Promise.all(older.map((entry) => outbox.delete(entry.seq)));
  // The restored server counts its revisions anew.
  await Promise.all(others.map((entry) => outbox.put({ ...entry, seen: null })));
  // What was on its way back already, and was replaced where it is lost now, goes up for the past's sake.
  const wholes = [...apartOf(held), ...parts.map((part) => replacedOf(part, held)).filter(isSomething)];
  await Promise.all(wholes.map((fields) => outbox.add(wholeOf(record, fields) as OutboxEntry)));
  const waiting = others.length + wholes.length;
  await tx.objectStore('records').put({ ...record, revision: null, theirs: {}, waiting });
}

/** What may be refused by itself goes by itself: that a record was taken away is not for everybody to say. */
function apartOf({ gone, ...rest }: StampedFields): StampedFields[] {
  return [rest, gone === undefined ? {} : { gone }].filter(isSomething);
}

function replacedOf(part: StampedFields, held: StampedFields): StampedFields {
  return Object.fromEntries(Object.entries(part).filter(([name, field]) => !isSame(field, held[name] as StampedField)));
}

function isSomething(fields: StampedFields): boolean {
  return Object.keys(fields).length > 0;
}

function wholeOf(of: StoredRecord, held: StampedFields): Omit<OutboxEntry, 'seq'> {
  const envelope = { record: of.id, kind: of.kind, author: of.author, device: of.device };
  const fields = Object.fromEntries(Object.entries(held).map(([name, field]) => [name, { ...field, was: null }]));
  const times = { wall_ms: 0, session: '', elapsed_ms: 0, clocked: [] };
  return { ...envelope, by: '', state: 'whole', fields, seen: null, ...times, sent: true, corrected: true };
}

/** The entry less what stands there. A value that another one has replaced meanwhile goes along: it may be lost there. */
function uncovered(entry: OutboxEntry, there: StampedFields): OutboxEntry {
  const fields: OutgoingFields = {};
  let isNews = false;
  for (const [name, field] of Object.entries(entry.fields)) {
    const held = Object.hasOwn(there, name) ? there[name] : undefined;
    if (held !== undefined && isSame(field, held)) continue;
    const isLater = held === undefined || wins(field, held);
    fields[name] = held !== undefined && isLater ? { ...field, was: held.stamp } : field;
    isNews ||= isLater;
  }
  return { ...entry, fields, isReplaced: !isNews };
}

function isSame(one: StampedField, other: StampedField): boolean {
  return one.stamp === other.stamp && canonical(one.value) === canonical(other.value);
}
