/** Correcting what was written down: when it was, which male, what was seen; and taking a record out. */
import type { Fields, Json, Rec, Store } from '../store';
import type { Lamps } from '../domain/nights';
import { IN_THE_MOUTH, type Way } from '../domain/ways';
import { later } from '../texts/later';
import { dayName } from '../ui/dates';
import { dateIn } from '../domain/nights';
import type { TakeBack } from './acts.svelte';
import { atOf, textOf } from './holding';
import { askedParts, EMPTY, whenOf, type Light, type Part, type Timing } from './lookdraft';
import { editBack, emptied } from './writes';

const PARTS: readonly Part[] = ['mouth', 'clutch', 'eggs', 'tails', 'loose_fry', 'food'];

/** Who holds this phone, and what the household lets them do. */
export interface Self {
  readonly person: string;
  readonly role: string;
  /** Others log on it as well. */
  readonly isShared?: boolean;
}
/** A time that is being corrected: as it was, said to be right, or put anew. */
export interface TimeForm {
  readonly timing: Timing | null;
  readonly isRight: boolean;
}
/** A look that is being corrected. */
export interface LookForm {
  /** The brood, or the tank where it was one of several males. */
  readonly about: string;
  readonly time: TimeForm;
  readonly light: string | null;
  readonly seen: Readonly<Record<Part, string | null>>;
  readonly note: string;
}

export const AS_IT_WAS: TimeForm = { timing: null, isRight: false };

/** The form as the look stands. */
export function lookForm(look: Rec): LookForm {
  const seen = Object.fromEntries(PARTS.map((part) => [part, textOf(look, part)])) as LookForm['seen'];
  return { about: textOf(look, 'about') ?? '', time: AS_IT_WAS, light: textOf(look, 'light'), seen, note: textOf(look, 'note') ?? '' };
}

/** The instant that the form says. */
export function timeIn(time: TimeForm, record: Rec, lamps: Lamps, now: Date): Date {
  return time.timing ? whenOf(time.timing, lamps, now).at : atOf(record);
}

/** The fields of a corrected time. Whoever dates by hand, or says that the time is right, ends the doubt of the clock:
 * written even where no doubt is known yet, for a look that has not gone up may only then be found doubtful. */
export function timeChanges(time: TimeForm, record: Rec, lamps: Lamps, now: Date): Fields {
  const { at, errorMin } = time.timing ? whenOf(time.timing, lamps, now) : { at: atOf(record), errorMin: 0 };
  if (at.getTime() === atOf(record).getTime()) return time.isRight ? { clock_doubtful: false } : {};
  return { at: at.toISOString(), at_error_min: errorMin, clock_doubtful: false };
}

/** The parts that are shown: those that are asked in this light at this hour, and all of which a value is logged. */
export function partsShown(form: LookForm, look: Rec, lamps: Lamps, now: Date, way: Way = IN_THE_MOUTH): Part[] {
  const at = timeIn(form.time, look, lamps, now);
  const asked = askedParts({ ...EMPTY, light: (form.light ?? 'none') as Light, when: 'other', other: at }, lamps, now, [way]);
  return PARTS.filter((part) => asked.includes(part) || form.seen[part] !== null || textOf(look, part) !== null);
}

/** What is to be written; only what differs from the look will be. */
export function lookChanges(form: LookForm, look: Rec, lamps: Lamps, now: Date): Fields {
  const note: Json = form.note.trim() === '' ? null : form.note;
  return { about: form.about, light: form.light, ...form.seen, note, ...timeChanges(form.time, look, lamps, now) };
}

/** Why the household would not take the look so, in words; nothing where it would. */
export function lookProblem(form: LookForm, look: Rec, brood: Rec | undefined, lamps: Lamps, now: Date, way: Way = IN_THE_MOUTH): string | null {
  const from = textOf(brood, 'not_before');
  const isBefore = from !== null && timeIn(form.time, look, lamps, now).getTime() < Date.parse(from);
  return isBefore ? later.broods[way].correct.before(dayName(dateIn(lamps.zone, new Date(from)))) : null;
}

/** Whether this person may take that record out: a helper only what is his own. */
export function mayTakeOut(record: Rec, self: Self): boolean {
  return self.role !== 'helper' || record.author === self.person;
}

/** Take a record out. A helper may mark none as gone: his own he empties, so that it says nothing. */
export async function takeOut(store: Store, record: Rec, self: Self): Promise<TakeBack> {
  return editBack(store, record, self.role === 'helper' ? emptied(record) : { gone: true });
}
