/** An answer of the server's taken in: verdicts, rows, what was derived and the cursor, in one transaction. */
import type { Answer, Derived, Said, SaidRow } from '../records/exchange';
import { later, type Stamp } from '../records/stamps';
import { advanced, agreement, broughtBack, isNewEpoch, restarted, towards, withBrought } from './agreement';
import { bringAll, coverWhole } from './bringing';
import { inPieces, openDesk, type Desk } from './desk';
import { meta, putMeta, type Inside } from './device';
import { mergeRow, wholeRow } from './rows';
import { inState, type Agreement, type Writing } from './schema';
import type { Batch } from './outgoing';
import { applyVerdicts, NOTHING_JUDGED, reviveLater, type Judged } from './verdicts';

/** What an answer brought. */
export interface Taken extends Judged {
  /** Kinds of records and of derived rows that changed. */
  kinds: Set<string>;
  more: boolean;
  recomputing: boolean;
  /** How many changes could be sent at once. */
  left: number;
}

/** Take in the answer to that batch; an answer that was overtaken by a new epoch changes nothing. */
export function takeAnswer(inside: Inside, batch: Batch, said: Said): Promise<Taken> {
  const verdicts = (said.verdicts ?? []).map((verdict) => ({ id: null, reason: null, fields: [], ...verdict }));
  const answer: Answer = { derived: [], recomputing: false, ...said, verdicts };
  return inside.connection.write(['records', 'outbox', 'derived', 'meta'], 'relaxed', async (tx) => {
    const met = await agreement(tx);
    const taken = { kinds: new Set<string>(), more: answer.more, recomputing: answer.recomputing, left: 0, ...NOTHING_JUDGED };
    if (batch.towards !== towards(met) && answer.epoch !== towards(met)) return { ...taken, more: true };
    const restored = isNewEpoch(met, answer);
    // What it held is laid out before this answer changes any of it.
    const agreed = restored ? await startBringing(tx, restarted(met, answer)) : met;
    const desk = openDesk(tx, taken.kinds);
    const judged = await applyVerdicts(desk, batch.entries, answer, batch.person);
    await takeRows(desk, answer.rows, agreed.bringing !== null);
    await desk.close();
    await takeDerived(tx, answer.derived, taken.kinds);
    await raiseClock(inside, tx, withBrought(agreed, judged.brought), [...judged.stamps, ...stampsIn(answer.rows)]);
    const goesOn = restored || (await conclude(tx, batch, answer));
    return { ...taken, ...judged, more: answer.more || goesOn, left: await countSendable(tx, batch.person) };
  });
}

/** Put aside what the server would not even read, for a person to mend. */
export function refuseBatch(inside: Inside, batch: Batch, reason: string): Promise<void> {
  return inside.connection.write(['outbox', 'meta'], 'relaxed', async (tx) => {
    const by = batch.person ?? '';
    const refused = batch.entries.map((entry) => ({ ...entry, by, reason, sent: true, state: 'refused' as const }));
    await Promise.all(refused.map((entry) => tx.objectStore('outbox').put(entry)));
  });
}

async function countSendable(tx: Writing, person: string | null): Promise<number> {
  const agreed = await agreement(tx);
  const turns = tx.objectStore('outbox').index('turn');
  const mine = await turns.count(['waiting', person ?? '']);
  return mine + (agreed.pulled ? await turns.count(['whole', '']) : 0);
}

async function takeRows(desk: Desk, rows: readonly SaidRow[], bringing: boolean): Promise<void> {
  await inPieces(rows, async (some) => {
    await desk.fetch(some.map((row) => row.id));
    for (const row of some.map(wholeRow)) {
      const held = await desk.record(row.id);
      const merged = mergeRow(held, row);
      desk.put(bringing && merged.waiting > 0 ? await coverWhole(desk, merged, row) : merged);
    }
  });
}

async function takeDerived(tx: Writing, rows: readonly Derived[], kinds: Set<string>): Promise<void> {
  const store = tx.objectStore('derived');
  for (const { kind, about, revision, body } of rows) {
    const held = await store.get([kind, about ?? '']);
    if (held !== undefined && held.revision > revision) continue;
    kinds.add(kind);
    await store.put({ kind, about: about ?? '', revision, body });
  }
}

function stampsIn(rows: readonly SaidRow[]): Stamp[] {
  return rows.flatMap(({ fields, stamp, stamps }) => [
    ...(stamp === undefined ? [] : [stamp]), ...Object.values(stamps ?? {}), ...Object.values(fields ?? {}).map((field) => field.stamp),
  ]);
}

async function raiseClock(inside: Inside, tx: Writing, agreed: Agreement, stamps: readonly Stamp[]): Promise<void> {
  const own = stamps.filter((stamp) => stamp.endsWith(inside.device));
  const greatest = stamps.reduce<Stamp | null>(later, agreed.greatest);
  const greatest_own = own.reduce<Stamp | null>(later, agreed.greatest_own);
  await putMeta(tx, 'agreement', { ...agreed, greatest, greatest_own });
  const last = later((await meta(tx, 'last')) ?? null, greatest);
  if (last !== null) await putMeta(tx, 'last', last);
}

async function startBringing(tx: Writing, agreed: Agreement): Promise<Agreement> {
  await bringAll(tx);
  await putMeta(tx, 'agreement', agreed);
  return agreed;
}

/** Tells whether something is to be sent that could not be before this answer. */
async function conclude(tx: Writing, batch: Batch, answer: Answer): Promise<boolean> {
  const agreed = await agreement(tx);
  if (answer.schema > agreed.server_schema) await reviveLater(tx, answer.schema);
  const asked = batch.towards === towards(agreed) ? batch.request.cursor : Number.POSITIVE_INFINITY;
  const next = advanced(agreed, answer, asked);
  const left = await tx.objectStore('outbox').index('turn').count(inState('whole'));
  await putMeta(tx, 'agreement', next.pulled && left === 0 ? broughtBack(next) : next);
  // Not before all has come down is it known what the server lacks.
  return next.pulled && !agreed.pulled && left > 0;
}
