/** The next push: dated by the server's clock, at most what one request may hold, marked as sent. */
import { CHANGES_BYTES, CHANGES_LIMIT, type Change, type Push } from '../records/exchange';
import { SCHEMA_NUMBER } from '../records/kinds';
import { later, type Stamp } from '../records/stamps';
import { agreement, towards } from './agreement';
import { meta, putMeta, type Inside } from './device';
import { membersIn } from './membership';
import { isUnheardOf, overlay } from './overlay';
import { needsRedating, redated, standing, type ClockReading } from './redating';
import { inState, type Agreement, type OutboxEntry, type OutgoingFields, type Reading, type Writing } from './schema';

/** The schema number of the first server that takes the values of a change with one stamp for all. */
const SHARED_STAMP = 2;

/** A push, and what the phone must remember of it until the answer comes. */
export interface Batch {
  request: Push;
  entries: OutboxEntry[];
  /** Whose turn it is: the push goes up in his name. */
  person: string | null;
  /** The epoch that the phone was agreeing with when it asked. */
  towards: string | null;
}

const STORES = ['records', 'outbox', 'meta'] as const;

/** Whose turns a pass of a round has: those who share the phone and may send what waits of theirs, and last who logs now. */
export function turns(inside: Inside): Promise<string[]> {
  return inside.connection.read(['outbox', 'meta'], async (tx) => {
    const [self, others] = [await meta(tx, 'self'), await othersIn(tx)];
    const index = tx.objectStore('outbox').index('turn');
    const counts = await Promise.all(others.map((person) => index.count(['waiting', person])));
    return [...others.filter((_, i) => (counts[i] ?? 0) > 0), ...(self ? [self.person] : [])];
  });
}

async function othersIn(tx: Reading | Writing): Promise<string[]> {
  const [self, members] = [await meta(tx, 'self'), await membersIn(tx)];
  return members.filter((member) => !member.isOut && member.person !== self?.person).map((member) => member.person);
}

/** The next push of at most `limit` changes; without a reading of the clock it carries none and only asks. */
export function nextBatch(inside: Inside, reading: ClockReading | null, limit: number = CHANGES_LIMIT, named?: string): Promise<Batch> {
  return inside.connection.write([...STORES], 'relaxed', async (tx) => {
    const agreed = await agreement(tx);
    const person = named ?? (await meta(tx, 'self'))?.person ?? null;
    const entries = reading === null || person === null ? [] : await turn({ inside, tx, agreed, reading, limit, person });
    const changes = entries.map((entry) => changeOf(entry, agreed.server_schema));
    const fitting = countFitting(changes);
    const going = entries.slice(0, fitting);
    await Promise.all(going.map((entry) => tx.objectStore('outbox').put({ ...entry, sent: true })));
    const { cursor, epoch } = agreed;
    const request = { schema: SCHEMA_NUMBER, device: inside.device, cursor, epoch, changes: changes.slice(0, fitting) };
    return { request, entries: going, person, towards: towards(agreed) };
  });
}

interface Turn {
  inside: Inside;
  tx: Writing;
  agreed: Agreement;
  reading: ClockReading;
  limit: number;
  person: string;
}

async function turn(of: Turn): Promise<OutboxEntry[]> {
  const { tx, agreed, limit, person } = of;
  const due = await dueOf(of, limit);
  // Brought back is all that the phone holds, whosever it is: that goes with who logs now.
  const isSelf = person === (await meta(tx, 'self'))?.person;
  if (!isSelf || !agreed.pulled || due.length >= limit) return due;
  return [...due, ...(await tx.objectStore('outbox').index('turn').getAll(['whole', ''], limit - due.length))];
}

/** The first that may go, among the first `span` of that person's: what another wrote on this phone waits for a turn of theirs. */
async function dueOf(of: Turn, span: number): Promise<OutboxEntry[]> {
  const { tx, reading, limit, person } = of;
  const mine = await tx.objectStore('outbox').index('turn').getAll(['waiting', person], span);
  const right = mine.some((entry) => needsRedating(entry, reading)) ? (await redate(of)).slice(0, span) : mine;
  const early = await Promise.all(right.map((entry) => isEarly(tx, entry, person)));
  const due = right.filter((_, i) => !early[i]);
  // However many must wait, those behind them need not.
  return due.length >= limit || mine.length < span ? due.slice(0, limit) : dueOf(of, 4 * span);
}

/**
 * Whether it is an edit of what another person wrote here and the server has nothing of: it waits until that has gone up
 * in its author's name, for before, it would be refused.
 */
async function isEarly(tx: Writing, { author, record: id }: OutboxEntry, person: string): Promise<boolean> {
  if (author === person) return false;
  const record = await tx.objectStore('records').get(id);
  if (record === undefined || !isUnheardOf(record)) return false;
  const entries = await tx.objectStore('outbox').index('record').getAll(id);
  return entries.some((other) => other.state === 'waiting' && other.by !== person);
}

async function redate({ inside, tx, agreed, reading, person }: Turn): Promise<OutboxEntry[]> {
  // The index has one person's after another's; what counts is the order in which they were written.
  const all = (await tx.objectStore('outbox').index('turn').getAll(inState('waiting'))).sort((a, b) => a.seq - b.seq);
  const others = await Promise.all((['refused', 'later'] as const).map((state) => tx.objectStore('outbox').index('turn').getAll(inState(state))));
  const stays = standing(others.flat(), reading);
  const right = redated(all, reading, later(agreed.greatest_own, stays), inside.device);
  await Promise.all(right.map((entry) => tx.objectStore('outbox').put(entry)));
  for (const id of new Set(right.map((entry) => entry.record))) {
    await tx.objectStore('records').put(await overlay(tx, id));
  }
  const last = right.flatMap((entry) => Object.values(entry.fields)).map((field) => field.stamp);
  // The clock falls back: a stamp from a year ahead must not drag all later ones with it.
  const fallen = last.reduce<Stamp | null>(later, later(agreed.greatest, stays));
  if (fallen !== null) await putMeta(tx, 'last', fallen);
  return right.filter((entry) => entry.by === person);
}

function changeOf({ record: id, kind, author, device, seen, state, fields }: OutboxEntry, serverSchema: number): Change {
  const identity = { id, kind, author, device, seen, ...(state === 'whole' ? { held: true } : {}) };
  const [stamp, ...others] = new Set(Object.values(fields).map((field) => field.stamp));
  // Said once: packing alone would not make it as small.
  return serverSchema >= SHARED_STAMP && others.length === 0 ? { ...identity, stamp, ...saidOnce(fields) } : { ...identity, fields };
}

function saidOnce(fields: OutgoingFields): Pick<Change, 'values' | 'was'> {
  const told = Object.entries(fields);
  const was = told.flatMap(([name, field]) => (field.was === null ? [] : [[name, field.was]]));
  const values = Object.fromEntries(told.map(([name, field]) => [name, field.value]));
  return was.length === 0 ? { values } : { values, was: Object.fromEntries(was) };
}

function countFitting(changes: readonly Change[]): number {
  const text = new TextEncoder();
  let bytes = 0;
  const over = changes.findIndex((change) => (bytes += text.encode(JSON.stringify(change)).length + 1) > CHANGES_BYTES);
  // One that is too great by itself goes alone, so that the server can say so.
  return over === -1 ? changes.length : Math.max(over, 1);
}
