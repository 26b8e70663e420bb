/** Whose turn the duties on a page are: read apart from them, so that the first card need not wait for it. */
import { whoseTurn, type Nightly, type Turn } from '../domain/turns';
import type { Units } from '../domain/units';
import type { Rec, Store } from '../store';
import { duties as words } from '../texts/en/duties';
import type { DutyView } from '../ui/views';
import { isGone } from './absences';
import { amountWords } from './amounts';
import type { People } from './derived';
import type { Knowing } from './evening';
import { turnsIn } from './rota';
import { unitsOf } from './units';

export interface Turning extends Knowing {
  readonly turns: readonly Turn[];
  readonly absences: readonly Rec[];
  readonly units: Units;
}
/** A duty's row that also says whose turn it is, and whom to ask. */
export interface TurnedView extends DutyView {
  readonly isMyTurn: boolean;
}
/** So many are named whom one may ask. */
const MOST_ASKED = 3;

/** Read the turns, and what lifts them. */
export async function turningOf(store: Store): Promise<Turning> {
  const [rota, absences, people, self, units] = await Promise.all([store.ofKind('rota'), store.ofKind('absence'), store.derived<People>('people', null), store.self(), unitsOf(store)]);
  return { turns: turnsIn(rota), absences, people, self: self?.person ?? null, units };
}

/** Those at home whose turn a duty is, who looks first: somebody who is away when it is due has no turn then. */
export function inTurn(duty: Nightly & { readonly due_at: string }, { turns, absences, people, self }: Turning): { id: string; name: string }[] {
  const due = new Date(duty.due_at);
  const whose = whoseTurn(duty, turns).filter((id) => !isGone(absences, id, due));
  const named = (people?.people ?? []).filter((person) => !person.gone && whose.includes(person.id));
  return named.sort((a, b) => Number(b.id === self) - Number(a.id === self));
}

/** Who knows more than a helper does, and is at home at that time; not `self`, who would ask himself. */
export function knowing(at: Date, { absences, people }: Turning, self: string | null): string[] {
  const others = (people?.people ?? []).filter((person) => !person.gone && person.role !== 'helper' && person.id !== self);
  return others.filter((person) => !isGone(absences, person.id, at)).map((person) => person.name).slice(0, MOST_ASKED);
}

/** How it is done: as those of its way do it, or as everybody does. */
function howOf({ text, not, told }: DutyView): { text: string; not: string } {
  return text === '' ? (words.how[told.kind] ?? { text, not }) : { text, not };
}

/** The row with how it is done and how much, whom to ask, and whose turn it is while nobody has taken the duty. */
export function turned(view: DutyView, turning: Turning): TurnedView {
  const whose = view.isFree && view.done === null ? inTurn(view.told, turning) : [];
  const isMyTurn = whose[0]?.id === turning.self && whose.length > 0;
  const others = whose.slice(isMyTurn ? 1 : 0).map((person) => person.name);
  const asked = knowing(new Date(view.told.due_at), turning, turning.self);
  const how = { ...howOf(view), amount: amountWords(view.told.amount, turning.units) };
  return { ...view, ...how, isMyTurn, ask: asked.length > 0 ? words.ask(asked) : null, holder: whose.length === 0 ? view.holder : isMyTurn ? words.myTurn(others) : words.turn(others) };
}
