/** The next push: dated by the server's clock, at most what one request may hold, marked as sent. */
import { CHANGES_BYTES, CHANGES_LIMIT, type Change, type Push } from '../records/exchange';
import { SCHEMA_NUMBER } from '../records/kinds';
import { later, type Stamp } from '../records/stamps';
import { agreement, towards } from './agreement';
import { meta, putMeta, type Inside } from './device';
import { overlay } from './overlay';
import { needsRedating, redated, type ClockReading } from './redating';
import { inState, type Agreement, type OutboxEntry, type Writing } from './schema';

/** A push, and what the phone must remember of it until the answer comes. */
export interface Batch {
  request: Push;
  entries: OutboxEntry[];
  /** The epoch that the phone was agreeing with when it asked. */
  towards: string | null;
}

const STORES = ['records', 'outbox', 'meta'] as const;

/** The next push of at most `limit` changes; without a reading of the clock it carries none and only asks. */
export function nextBatch(inside: Inside, reading: ClockReading | null, limit: number = CHANGES_LIMIT): Promise<Batch> {
  return inside.connection.write([...STORES], 'relaxed', async (tx) => {
    const agreed = await agreement(tx);
    const entries = reading === null ? [] : await turn(inside, tx, agreed, reading, limit);
    const changes = entries.map(changeOf);
    const fitting = countFitting(changes);
    const going = entries.slice(0, fitting);
    await Promise.all(going.map((entry) => tx.objectStore('outbox').put({ ...entry, sent: true })));
    const { cursor, epoch } = agreed;
    const request = { schema: SCHEMA_NUMBER, device: inside.device, cursor, epoch, changes: changes.slice(0, fitting) };
    return { request, entries: going, towards: towards(agreed) };
  });
}

async function turn(inside: Inside, tx: Writing, agreed: Agreement, reading: ClockReading, limit: number) {
  const self = await meta(tx, 'self');
  if (self === undefined) return [];
  const index = tx.objectStore('outbox').index('turn');
  // What another person wrote on this phone waits until they sign in again: the server takes it from nobody else.
  const mine = await index.getAll(['waiting', self.person], limit);
  const due = mine.some((entry) => needsRedating(entry, reading)) ? await redate(inside, tx, agreed, reading, limit) : mine;
  if (!agreed.pulled || due.length >= limit) return due;
  return [...due, ...(await index.getAll(['whole', ''], limit - due.length))];
}

async function redate(inside: Inside, tx: Writing, agreed: Agreement, reading: ClockReading, limit: number) {
  const self = await meta(tx, 'self');
  const all = await tx.objectStore('outbox').index('turn').getAll(inState('waiting'));
  const right = redated(all, reading, agreed.greatest_own, inside.device);
  await Promise.all(right.map((entry) => tx.objectStore('outbox').put(entry)));
  for (const id of new Set(right.map((entry) => entry.record))) {
    await tx.objectStore('records').put(await overlay(tx, id));
  }
  const last = right.flatMap((entry) => Object.values(entry.fields)).map((field) => field.stamp);
  // The clock falls back: a stamp from a year ahead must not drag all later ones with it.
  const fallen = last.reduce<Stamp | null>(later, agreed.greatest);
  if (fallen !== null) await putMeta(tx, 'last', fallen);
  return right.filter((entry) => entry.by === self?.person).slice(0, limit);
}

function changeOf({ record: id, kind, author, device, seen, fields }: OutboxEntry): Change {
  return { id, kind, author, device, seen, fields };
}

function countFitting(changes: readonly Change[]): number {
  const text = new TextEncoder();
  let bytes = 0;
  const over = changes.findIndex((change) => (bytes += text.encode(JSON.stringify(change)).length + 1) > CHANGES_BYTES);
  // One that is too great by itself goes alone, so that the server can say so.
  return over === -1 ? changes.length : Math.max(over, 1);
}
