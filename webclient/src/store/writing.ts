/** A person's writes: the record, its outbox entry and the clock's last stamp in one transaction, all or none. */
import { uuid7 } from '../records/ids';
import { instantMs, instantText } from '../records/instants';
import { canonical } from '../records/json';
import { isKnown, type Fields } from '../records/kinds';
import { merge } from '../records/merge';
import { nextStamp } from '../records/stamps';
import { meta, putMeta, type Inside } from './device';
import type { Name, OutboxEntry, OutgoingFields, Person, StoredRecord, Writing } from './schema';
import { StoreTrouble } from './trouble';

// A time this near to the phone's clock was read from it, whoever filled it in.
const CLOCKED_MS = 60_000;

/** What else is written in the transaction of a new record. */
export interface Beside {
  stores: Name[];
  put(tx: Writing, record: StoredRecord): Promise<unknown>;
}

/** Add a record of that kind; a missing `at` becomes now. Resolves when it is durable. */
export function add(inside: Inside, kind: string, fields: Fields, beside?: Beside): Promise<StoredRecord> {
  const wallMs = inside.surroundings.now();
  const id = uuid7(wallMs, inside.surroundings.random);
  const values = defined({ at: instantText(wallMs), ...defined(fields) });
  return write(inside, async (tx) => {
    const author = await writer(tx);
    // A lost connection may have been lost after the commit: the second try finds what the first one wrote.
    const written = await tx.objectStore('records').get(id);
    if (written !== undefined) return written;
    const bare = { id, kind, author: author.person, device: inside.device, revision: null, concurrent: [], waiting: 0 };
    const added = await put(inside, tx, { ...bare, fields: {}, theirs: {} }, values, wallMs);
    await beside?.put(tx, added);
    return added;
  }, beside?.stores);
}

/**
 * Write new values of some fields; fields that hold the value already are left alone, unless two people wrote them
 * without knowing of each other: to write it once more, having seen the other, settles which of them stands.
 */
export function edit(inside: Inside, id: string, fields: Fields): Promise<StoredRecord> {
  const wallMs = inside.surroundings.now();
  return write(inside, async (tx) => {
    const record = await needRecord(tx, id);
    const changed = Object.entries(defined(fields)).filter(([name, value]) => {
      const held = record.fields[name];
      return held === undefined || canonical(held.value) !== canonical(value) || record.concurrent.includes(name);
    });
    return changed.length === 0 ? record : put(inside, tx, record, Object.fromEntries(changed), wallMs);
  });
}

/** Take back an added record: without a trace while it has never left this phone and nobody else wrote in it, else by marking it gone. */
export async function undo(inside: Inside, id: string): Promise<StoredRecord> {
  const forgotten = await write(inside, async (tx) => {
    const record = await needRecord(tx, id);
    const entries = await tx.objectStore('outbox').index('record').getAll(id);
    const isNobodyElses = entries.every((entry) => !entry.sent && entry.by === record.author);
    if (record.revision !== null || entries.length === 0 || !isNobodyElses) return null;
    await Promise.all(entries.map((entry) => tx.objectStore('outbox').delete(entry.seq)));
    await tx.objectStore('records').delete(id);
    return record;
  });
  return forgotten ?? edit(inside, id, { gone: true });
}

/** One transaction of a person's. */
export function write<T>(inside: Inside, body: (tx: Writing) => Promise<T>, more: Name[] = []): Promise<T> {
  return inside.connection.write(['records', 'outbox', 'meta', ...more], 'strict', body);
}

/** Write those values into the record, with the outbox entry that sends them. */
export async function put(inside: Inside, tx: Writing, record: StoredRecord, values: Fields, wallMs: number): Promise<StoredRecord> {
  if (!isKnown(record.kind)) throw new StoreTrouble('unknown');
  const stamp = nextStamp((await meta(tx, 'last')) ?? null, wallMs, inside.device);
  const fields: OutgoingFields = {};
  for (const [name, value] of Object.entries(values)) {
    fields[name] = { value, stamp, was: record.fields[name]?.stamp ?? null };
  }
  const theirs = record.theirs ?? record.fields;
  const written = { ...record, theirs, fields: merge(record.fields, fields), waiting: record.waiting + 1 };
  const by = (await writer(tx)).person;
  await putMeta(tx, 'last', stamp);
  await tx.objectStore('records').put(written);
  const agreed_at = (await meta(tx, 'agreement'))?.agreed_at ?? null;
  await tx.objectStore('outbox').add({ ...entryOf(inside, record, by, fields, wallMs), agreed_at } as OutboxEntry);
  return written;
}

function entryOf(inside: Inside, of: StoredRecord, by: string, fields: OutgoingFields, wallMs: number): Omit<OutboxEntry, 'seq'> {
  const envelope = { record: of.id, kind: of.kind, author: of.author, device: of.device };
  const clocked = Object.keys(fields).filter((name) => isClocked(fields[name]?.value, wallMs) || isFromNow(of.kind, name));
  const times = { wall_ms: wallMs, session: inside.session, elapsed_ms: inside.surroundings.elapsed(), clocked };
  return { ...envelope, by, state: 'waiting', fields, seen: of.revision, ...times, sent: false, corrected: false };
}

/** Whether that field is always reckoned from now: *later* means in half an hour, whatever the clock shows. */
function isFromNow(kind: string, name: string): boolean {
  return kind === 'mark' && name === 'until';
}

function isClocked(value: unknown, wallMs: number): boolean {
  const ms = instantMs(value);
  return ms !== null && Math.abs(ms - wallMs) <= CLOCKED_MS;
}

/** Who logs here; `nobody` where nobody ever signed in. */
export async function writer(tx: Writing): Promise<Person> {
  const person = await meta(tx, 'self');
  if (person === undefined) throw new StoreTrouble('nobody');
  return person;
}

/** The record with that id; `unknown` where there is none. */
export async function needRecord(tx: Writing, id: string): Promise<StoredRecord> {
  const record = await tx.objectStore('records').get(id);
  if (record === undefined) throw new StoreTrouble('unknown');
  return record;
}

function defined(fields: Partial<Fields>): Fields {
  return Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== undefined)) as Fields;
}
