/** Whose look it was: the broods that a look of a given instant can be about, and the looks that nobody has settled. */
import { clockTime, daySpan, dayWord } from '../ui/dates';
import { lookWords } from '../ui/said';
import { texts } from '../texts';
import { later } from '../texts/later';
import type { Rec, Store } from '../store';
import { atOf, saysSomething, textOf } from './holding';
import { lampsOf } from './lamps';

/** After an ending a look may still be of that brood: young come to light days later (common practice, no source). */
const AFTERWARDS_MS = 3 * 86_400_000;

/** A brood with the male that held it and his tank. */
export interface Hold {
  readonly brood: Rec;
  readonly fish: Rec | undefined;
  readonly tank: Rec | undefined;
}
/** A male as the choice shows him; `id` is that of his brood. */
export interface MaleCard {
  readonly id: string;
  readonly name: string;
  readonly where: string;
  readonly last: string;
}

/** Every brood of the household, also one that was none: its looks must be told whose they are. */
export async function holdsOf(store: Store): Promise<Hold[]> {
  const all = (kind: string): Promise<Rec[]> => store.ofKind(kind, { gone: true });
  const [broods, fish, tanks] = await Promise.all([all('brood'), all('fish'), all('tank')]);
  const byId = new Map([...fish, ...tanks].map((one) => [one.id, one]));
  return broods.map((brood) => {
    const male = byId.get(textOf(brood, 'about') ?? '');
    return { brood, fish: male, tank: byId.get(textOf(male, 'about') ?? '') };
  });
}

/** Whether he can have held this brood then, or just have let it go. */
export function couldBe({ brood }: Hold, at: Date): boolean {
  if (brood.fields['gone'] === true || textOf(brood, 'ended') === 'mistake') return false;
  const [from, until] = [textOf(brood, 'not_before'), textOf(brood, 'ended_at')];
  const begun = from === null || Date.parse(from) <= at.getTime();
  return begun && (until === null || at.getTime() <= Date.parse(until) + AFTERWARDS_MS);
}

/** The holds that a look of that instant can be about, and the one it is about now. */
export function candidates(holds: readonly Hold[], at: Date, about: string | null): Hold[] {
  return holds.filter((hold) => hold.brood.id === about || couldBe(hold, at));
}

/** The tanks in which more than one of these males lives: there one may be unsure which. */
export function crowded(holds: readonly Hold[]): { id: string; name: string }[] {
  const tanks = new Map(holds.flatMap(({ tank }) => (tank ? [[tank.id, tank] as const] : [])));
  const shared = [...tanks.values()].filter((tank) => holds.filter((hold) => hold.tank?.id === tank.id).length > 1);
  return shared.map((tank) => ({ id: tank.id, name: textOf(tank, 'name') ?? '' }));
}

/** How a hold is told from the male's others: since when, or from when to when. */
function spanWords({ brood, tank }: Hold, now: Date): string {
  const [from, until] = [textOf(brood, 'not_after') ?? textOf(brood, 'not_before'), textOf(brood, 'ended_at')];
  const zone = lampsOf(tank).zone;
  if (from === null) return '';
  return until ? daySpan(new Date(from), new Date(until), zone) : later.brood.list.since(dayWord(new Date(from), zone, now));
}

/** The males to choose from. */
export function maleCards(holds: readonly Hold[], now: Date): MaleCard[] {
  return holds.map((hold) => ({
    id: hold.brood.id, name: textOf(hold.fish, 'name') ?? texts.tonight.duty.somebody,
    where: texts.tonight.where(textOf(hold.tank, 'name') ?? '', textOf(hold.fish, 'spot') ?? ''), last: spanWords(hold, now),
  }));
}

/** Looks at one of the males of this hold's tank while he held, of which nobody has said whose they were. */
export async function unsettledOf(store: Store, hold: Hold): Promise<Rec[]> {
  const looks = hold.tank ? await store.about(hold.tank.id, 'look') : [];
  return looks.filter((look) => saysSomething(look) && couldBe(hold, atOf(look)));
}

/** An unsettled look in words. */
export function unsettledWords(look: Rec, zone: string, now: Date): string {
  const at = atOf(look);
  return texts.tonight.unsure.text(texts.frame.when.at(dayWord(at, zone, now), clockTime(at, zone)), lookWords(look.fields));
}
