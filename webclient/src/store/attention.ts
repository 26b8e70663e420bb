/** What the server refused, and what it does not have yet: nothing of either is lost. */
import { instantText } from '../records/instants';
import { SCHEMA_NUMBER, type Fields } from '../records/kinds';
import { meta, type Inside } from './device';
import { isUnheardOf, laidOut, needEntry, overlay } from './overlay';
import { shown, type Rec } from './reading';
import { inState, type OutboxEntry, type OutgoingFields, type Reading, type StoredRecord, type Writing } from './schema';
import { needRecord, put, write, writer } from './writing';

/** A write that the server refused and that a person must mend or let go. */
export interface Attention {
  id: number;
  record: string;
  kind: string;
  /** The values as they were written. */
  fields: Fields;
  /** Why, in the server's words. */
  reason: string;
  /** When it was written. */
  at: string;
  /** The person who wrote it. */
  by: string;
  /** The server has nothing of that record yet: it takes it only from the one who is named as its author. */
  isNew: boolean;
}

/** What was refused, in the order of its writing. */
export async function attention(inside: Inside): Promise<Attention[]> {
  return inside.connection.read(['outbox', 'records'], async (tx) => {
    const refused = await tx.objectStore('outbox').index('turn').getAll(inState('refused'));
    const records = await Promise.all(refused.map((entry) => tx.objectStore('records').get(entry.record)));
    return refused.map((entry, i) => attentionOf(entry, records[i])).sort((a, b) => a.id - b.id);
  });
}

/** What a helper may not write: the server takes it from a keeper or the owner alone. */
const KEEPERS_KINDS: readonly string[] = ['tank', 'fish', 'trust'];

/**
 * Records that two people changed without knowing of each other, as far as who logs here may settle which of the two
 * stands; what was taken away asks nobody any more, unless that is what they differ about.
 */
export async function apart(inside: Inside): Promise<Rec[]> {
  return inside.connection.read(['records', 'meta'], async (tx) => {
    const marked = await tx.objectStore('records').index('concurrent').getAll();
    const isHelper = (await meta(tx, 'self'))?.role === 'helper';
    const found = [...new Map(marked.map((record) => [record.id, shown(record)])).values()];
    return found.filter((record) => isAsked(record) && !(isHelper && KEEPERS_KINDS.includes(record.kind)));
  });
}

function isAsked({ concurrent, fields }: Rec): boolean {
  return concurrent.length > 0 && (fields['gone'] !== true || concurrent.includes('gone'));
}

/**
 * Send a refused write again with some of its values mended, under new stamps, and those of `without` left out. What was
 * not touched goes as it was written: another's value may have come since, which it must not overrule. A record of which
 * the server has nothing it takes from its author alone, so whoever mends such a one takes it over.
 */
export function mend(inside: Inside, seq: number, fields: Fields, without: readonly string[] = []): Promise<StoredRecord> {
  const wallMs = inside.surroundings.now();
  return write(inside, async (tx) => {
    const entry = await needEntry(tx, seq);
    const { person } = await writer(tx);
    await tx.objectStore('outbox').delete(seq);
    await giveTo(tx, entry.record, person);
    const { author } = await needRecord(tx, entry.record);
    const stays = Object.fromEntries(Object.entries(entry.fields).filter(([name]) => !(name in fields) && !without.includes(name)));
    const mended = Object.fromEntries(Object.entries(fields).filter(([name]) => !without.includes(name)));
    if (Object.keys(stays).length > 0) await tx.objectStore('outbox').put({ ...againOf(entry, stays), author, by: person });
    const record = await overlay(tx, entry.record);
    if (Object.keys(mended).length > 0) return put(inside, tx, record, mended, wallMs);
    await tx.objectStore('records').put(record);
    return record;
  });
}

function againOf({ reason: _, ...entry }: OutboxEntry, fields: OutgoingFields): OutboxEntry {
  return { ...entry, fields, clocked: entry.clocked.filter((name) => name in fields), state: 'waiting', sent: false };
}

async function giveTo(tx: Writing, id: string, person: string): Promise<void> {
  const record = await needRecord(tx, id);
  if (record.author === person || !isUnheardOf(record)) return;
  const entries = await tx.objectStore('outbox').index('record').getAll(id);
  // What was sent and not answered may have been taken, and then the record is its author's for ever.
  if (entries.some((entry) => entry.state === 'waiting' && entry.sent)) return;
  // What its author wrote goes along; what a third one wrote goes up in his own turn, and is his.
  const by = (entry: OutboxEntry) => (entry.by === record.author ? person : entry.by);
  await Promise.all(entries.map((entry) => tx.objectStore('outbox').put({ ...entry, author: person, by: by(entry) })));
  await tx.objectStore('records').put({ ...record, author: person });
}

/** Let a refused write go, and tell of it; what comes back takes that back. */
export async function lettingGo(inside: Inside, seq: number, told: (record: Promise<StoredRecord>) => Promise<unknown>): Promise<() => Promise<void>> {
  const gone = await letGo(inside, seq);
  await told(Promise.resolve(gone.record));
  return async () => void (await told(takeBack(inside, gone)));
}

/** A refused write that was let go, with its record as it was, so that it can be taken back. */
interface LetGo {
  entry: OutboxEntry;
  record: StoredRecord;
}

/** Let a refused write go: what the server has is shown again; a record of which it has nothing is taken away. */
async function letGo(inside: Inside, seq: number): Promise<LetGo> {
  return inside.connection.write(['outbox', 'records'], 'strict', async (tx) => {
    const entry = await needEntry(tx, seq);
    await tx.objectStore('outbox').delete(seq);
    const left = await tx.objectStore('outbox').index('record').getAll(entry.record);
    const held = (await tx.objectStore('records').get(entry.record)) as StoredRecord;
    const record = laidOut(held, left);
    if (Object.keys(record.fields).length === 0) await tx.objectStore('records').delete(entry.record);
    else await tx.objectStore('records').put(record);
    return { entry, record: held };
  });
}

/** Take back that it was let go: it needs attention again. */
async function takeBack(inside: Inside, { entry, record }: LetGo): Promise<StoredRecord> {
  return inside.connection.write(['outbox', 'records'], 'strict', async (tx) => {
    await tx.objectStore('outbox').put(entry);
    const held = await tx.objectStore('records').get(entry.record);
    const all = await tx.objectStore('outbox').index('record').getAll(entry.record);
    // What came down meanwhile stays below it.
    const back = held ? laidOut(held, all) : record;
    await tx.objectStore('records').put(back);
    return back;
  });
}

/** A file of all that is not on the server yet, refused writes included, with the records they belong to. */
export function exportUnsynced(inside: Inside): Promise<Blob> {
  return inside.connection.read(['outbox', 'records', 'meta'], async (tx) => {
    const writes = await tx.objectStore('outbox').getAll();
    const ids = [...new Set(writes.map((entry) => entry.record))];
    const records = await Promise.all(ids.map((id) => tx.objectStore('records').get(id)));
    return file(inside, tx, { writes, records });
  });
}

/** A file of all that this phone holds, kinds and fields that it does not know included. */
export function exportAll(inside: Inside): Promise<Blob> {
  return inside.connection.read(['outbox', 'records', 'meta'], async (tx) => {
    const writes = await tx.objectStore('outbox').getAll();
    return file(inside, tx, { writes, records: await tx.objectStore('records').getAll() });
  });
}

async function file(inside: Inside, tx: Reading, body: object): Promise<Blob> {
  const head = { holdwatch: 'export of a phone', schema: SCHEMA_NUMBER, device: inside.device };
  const exported_at = instantText(inside.surroundings.now());
  const text = JSON.stringify({ ...head, exported_at, self: (await meta(tx, 'self')) ?? null, ...body }, null, 1);
  return new Blob([text], { type: 'application/json' });
}

function attentionOf(entry: OutboxEntry, record: StoredRecord | undefined): Attention {
  const fields = Object.fromEntries(Object.entries(entry.fields).map(([name, field]) => [name, field.value]));
  const at = instantText(entry.wall_ms);
  const isNew = record !== undefined && isUnheardOf(record);
  return { id: entry.seq, record: entry.record, kind: entry.kind, fields, reason: entry.reason ?? '', at, by: entry.by, isNew };
}

/** The kinds of all that lies on this phone. */
export async function kindsHeld(inside: Inside): Promise<string[]> {
  const rows = await inside.connection.read(['records', 'derived'], async (tx) => [
    ...(await tx.objectStore('records').getAll()),
    ...(await tx.objectStore('derived').getAll()),
  ]);
  return [...new Set(rows.map((row) => row.kind))];
}
