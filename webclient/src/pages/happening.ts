/** What may happen to a brood, and the records that it becomes. */
import type { Fields, Rec, Store } from '../store';
import type { Lamps } from '../domain/nights';
import { events } from '../domain/twice';
import type { TakeBack } from './acts.svelte';
import { takeOut, timeChanges, timeIn, type Self, type TimeForm } from './correcting';
import { atOf, catchesOf, numberOf, textOf, type Ending, type Holding } from './holding';
import { addMark, editBack } from './writes';

export type Happening = 'spawning' | 'courtship' | Ending;
export interface Counts {
  readonly eggs: number;
  readonly yolk: number;
  readonly free: number;
  readonly kept: number;
}
export type Counted = keyof Counts;

/** What is counted when this happens. */
export const COUNTED: Readonly<Record<string, readonly Counted[]>> = { caught: ['eggs', 'yolk', 'free'], released: ['kept'] };
export const NOTHING: Counts = { eggs: 0, yolk: 0, free: 0, kept: 0 };
const OF_DUTIES: readonly string[] = ['taken', 'done', 'handed_back', 'later', 'skipped'];

/** Something that happened, with the record that says so: a mark, a feeding, or the brood where only it says how it ended. */
export interface Entry {
  readonly record: Rec;
  readonly what: string;
  /** What somebody said of a duty, rather than something that happened to the brood. */
  readonly isOfDuty: boolean;
}

/** Whether this ends the brood. */
export function isEnding(happened: Happening): happened is Ending {
  return happened !== 'spawning' && happened !== 'courtship';
}

function kept(how: Ending, counts: Counts): number | null {
  if (how === 'caught') return counts.yolk + counts.free;
  return how === 'released' ? counts.kept : null;
}

/** Carry out one after the other; taken back in the opposite order. */
export async function inTurn(acts: readonly (() => Promise<TakeBack>)[]): Promise<TakeBack> {
  const done: TakeBack[] = [];
  for (const act of acts) done.unshift(await act());
  return async () => {
    for (const back of done) await back();
  };
}

/** End a brood; a catch also leaves its mark with the counts. */
export async function endBrood(store: Store, brood: Rec, how: Ending, at: Date, errorMin: number, counts: Counts): Promise<TakeBack> {
  const { eggs, yolk, free } = counts;
  const number = kept(how, counts);
  const ended = { ended: how, ended_at: at.toISOString(), ...(number === null ? {} : { kept: number }) };
  const caught = () => addMark(store, brood.id, at, { what: 'caught', at_error_min: errorMin, eggs, yolk, free });
  return inTurn([...(how === 'caught' ? [caught] : []), () => editBack(store, brood, ended)]);
}

/** Write down what happened: an ending ends the brood, anything else is a mark. */
export function addHappening(store: Store, brood: Rec, what: Happening, at: Date, errorMin: number, counts: Counts): Promise<TakeBack> {
  return isEnding(what) ? endBrood(store, brood, what, at, errorMin, counts) : addMark(store, brood.id, at, { what, at_error_min: errorMin });
}

const OPEN: Fields = { ended: null, ended_at: null, kept: null };

/** Take an ending back that was said by mistake, with the mark of every catch and so its counts: two people may each
 * have said that he was caught, and one of them left would end the brood as before. */
export async function reopen(store: Store, { brood, marks }: Holding, self: Self): Promise<TakeBack> {
  return inTurn([...catchesOf(marks).map((mark) => () => takeOut(store, mark, self)), () => editBack(store, brood, OPEN)]);
}

/** All that happened to a brood, the newest first. */
export function entriesOf({ brood, marks, feedings }: Holding): Entry[] {
  const said = marks.flatMap((record) => {
    const what = textOf(record, 'what');
    return what ? [{ record, what, isOfDuty: OF_DUTIES.includes(what) }] : [];
  });
  const fed = feedings.filter((record) => record.fields['about'] === brood.id && textOf(record, 'took') !== null);
  const how = textOf(brood, 'ended');
  // A catch has a mark of its own, which says when it was and what it brought up.
  const ended = how !== null && (how !== 'caught' || catchesOf(marks).length === 0) ? [{ record: brood, what: how, isOfDuty: false }] : [];
  const all = [...said, ...fed.map((record) => ({ record, what: 'fed', isOfDuty: false })), ...ended];
  return all.sort((a, b) => (whenOf(b)?.getTime() ?? 0) - (whenOf(a)?.getTime() ?? 0));
}

/** The entries by the events that they tell of, in their order: two people may have logged one. */
export function inEvents(entries: readonly Entry[]): Entry[][] {
  const byId = new Map(entries.map((entry) => [entry.record.id, entry]));
  const found = events(entries.map(({ record }) => record)).map((event) => event.map(({ id }) => byId.get(id) as Entry));
  const placeOf = (event: Entry[]): number => entries.indexOf(event.at(-1) as Entry);
  return found.sort((a, b) => placeOf(a) - placeOf(b));
}

/** When it was, as far as somebody said. */
export function whenOf({ record }: Entry): Date | null {
  const text = textOf(record, record.kind === 'brood' ? 'ended_at' : 'at');
  return text ? new Date(text) : null;
}

/** Its counts as they stand. */
export function countsOf({ record, what }: Entry, { brood }: Holding): Counts {
  const of = (name: Counted): number => numberOf(record, name) ?? 0;
  const young = what === 'caught' ? of('yolk') + of('free') : 0;
  return { eggs: of('eggs'), yolk: of('yolk'), free: of('free'), kept: numberOf(brood, 'kept') ?? young };
}

/** What is counted of this entry. Of two catches the first ends the brood, and *kept* is said of it. */
export function countedOf(entry: Entry, holding: Holding): readonly Counted[] {
  const counted = COUNTED[entry.what] ?? [];
  return isTheCatch(entry, holding) ? [...counted, 'kept'] : counted;
}

function isTheCatch({ record, what }: Entry, { marks }: Holding): boolean {
  return what === 'caught' && catchesOf(marks)[0]?.id === record.id;
}

/** One more or fewer of something counted; what was kept follows what was caught as long as it is all of it. */
export function recounted(counts: Counts, part: Counted, by: number): Counts {
  const next = { ...counts, [part]: Math.max(0, counts[part] + by) };
  const isAll = part !== 'kept' && counts.kept === counts.yolk + counts.free;
  return isAll ? { ...next, kept: next.yolk + next.free } : next;
}

/** The counts that somebody changed; what nobody has said stays unsaid. */
function changedCounts(entry: Entry, holding: Holding, counts: Counts): Partial<Record<Counted, number>> {
  const before = countsOf(entry, holding);
  const changed = countedOf(entry, holding).filter((part) => counts[part] !== before[part]);
  return Object.fromEntries(changed.map((part) => [part, counts[part]]));
}

/** Correct when it was and what was counted; the brood's own word of its end follows the catch that ended it. */
export async function correctEntry(store: Store, entry: Entry, holding: Holding, form: { time: TimeForm; counts: Counts }, lamps: Lamps, now: Date): Promise<TakeBack> {
  const { record } = entry;
  const { kept, ...own } = changedCounts(entry, holding, form.counts);
  const ended: Fields = form.time.timing ? { ended_at: timeIn(form.time, record, lamps, now).toISOString() } : {};
  const ofBrood: Fields = kept === undefined ? ended : { ...ended, kept };
  if (record.kind === 'brood') return editBack(store, record, ofBrood);
  const mark = () => editBack(store, record, { ...timeChanges(form.time, record, lamps, now), ...own });
  return isTheCatch(entry, holding) ? inTurn([mark, () => editBack(store, holding.brood, ofBrood)]) : mark();
}

/** What the brood says of its end once that catch is taken out: the end of the next one, or that it is not over. */
function endWithout(mark: Rec, { brood, marks }: Holding): Fields {
  if (textOf(brood, 'ended') !== 'caught') return {};
  const next = catchesOf(marks).find((one) => one.id !== mark.id);
  if (!next) return OPEN;
  return { ended_at: atOf(next).toISOString(), kept: (numberOf(next, 'yolk') ?? 0) + (numberOf(next, 'free') ?? 0) };
}

/** Take something out that never happened. */
export async function takeOutEntry(store: Store, { record, what }: Entry, holding: Holding, self: Self): Promise<TakeBack> {
  if (record.kind === 'brood') return editBack(store, record, OPEN);
  const out = () => takeOut(store, record, self);
  return what === 'caught' ? inTurn([out, () => editBack(store, holding.brood, endWithout(record, holding))]) : out();
}
