/** What a hatch can be for, and which broods have young without a batch: read for the list of the nursery. */
import type { Rec, Store } from '../../store';
import { nursery as texts } from '../../texts/en/nursery';
import { endedAt, endingOf, holdingOf, isUnderWay, numberOf, textOf, type Holding } from '../holding';
import { isRunning, nameOf } from './young';

const DAY_MS = 86_400_000;
/** So long after its end a brood is offered a batch (common practice, no source). */
const LATELY_MS = 21 * DAY_MS;

/** The broods that bear on the nursery: under way, or over lately. */
export async function broodsOf(store: Store, now: Date): Promise<Holding[]> {
  const isNear = (brood: Rec): boolean => textOf(brood, 'ended_at') === null || now.getTime() - Date.parse(textOf(brood, 'ended_at') ?? '') < LATELY_MS;
  return Promise.all((await store.ofKind('brood')).filter(isNear).map((brood) => holdingOf(store, brood)));
}

/** The broods whose young were caught or let go lately and are in no batch yet; where none were kept there is none to open. */
export function withoutBatch(broods: readonly Holding[], batches: readonly Rec[], now: Date): Holding[] {
  return broods.filter((holding) => {
    const [how, at] = [endingOf(holding), endedAt(holding)];
    const isOver = (how === 'caught' || how === 'released') && at !== null && now.getTime() - at.getTime() < LATELY_MS;
    return isOver && numberOf(holding.brood, 'kept') !== 0 && batchOf(holding.brood.id, batches) === undefined;
  });
}

/** The batch that was opened for a brood and not by mistake. */
export function batchOf(brood: string, batches: readonly Rec[]): Rec | undefined {
  return batches.find((batch) => batch.fields['about'] === brood && textOf(batch, 'ended') !== 'mistake' && batch.fields['gone'] !== true);
}

/** For whom a hatch can be set going, each with its name: the running batches, then the broods under way. */
export function hatchFor(batches: readonly Rec[], broods: readonly Holding[]): (readonly [string, string])[] {
  const running = batches.filter(isRunning).map((batch) => [batch.id, nameOf(batch)] as const);
  const ahead = broods.filter((one) => isUnderWay(one.brood, one.marks)).map((one) => [one.brood.id, texts.ofMale(textOf(one.fish, 'name') ?? '')] as const);
  return [...running, ...ahead];
}
