/** Who is away, in whole days by the clock of this device. */
import { dateIn, instantIn, shiftDate } from '../domain/nights';
import type { Rec, Store } from '../store';
import type { TakeBack } from './acts.svelte';
import type { People } from './derived';
import { textOf } from './holding';
import { takeAway } from './writes';

export interface Absence {
  readonly record: Rec;
  readonly person: string;
  readonly from: string;
  readonly to: string;
}

const MIDNIGHT = '00:00';

/** Absences that are not over, by their beginning. */
export function absencesAhead(records: readonly Rec[], zone: string, now: Date): Absence[] {
  return records.flatMap((record) => absenceIn(record, zone, now) ?? []).sort((a, b) => (a.from < b.from ? -1 : 1));
}

function absenceIn(record: Rec, zone: string, now: Date): Absence | null {
  const [person, since, until] = ['person', 'since', 'until'].map((name) => textOf(record, name));
  if (!person || !since || !until || Date.parse(until) <= now.getTime()) return null;
  // It ends with the midnight after its last day.
  return { record, person, from: dateIn(zone, new Date(since)), to: dateIn(zone, new Date(Date.parse(until) - 1)) };
}

/** Write down that somebody is away from one day to another, both of them away. */
export async function addAbsence(store: Store, person: string, from: string, to: string, zone: string): Promise<TakeBack> {
  const [since, until] = [instantIn(zone, from, MIDNIGHT), instantIn(zone, shiftDate(to, 1), MIDNIGHT)];
  const record = await store.add('absence', { person, since: since.toISOString(), until: until.toISOString() });
  return () => takeAway(store, record);
}

/** Whether everybody who belongs to the household is away at an instant; nobody is where it has no people yet. */
export function areAllAway(records: readonly Rec[], people: People | undefined, at: Date): boolean {
  const here = (people?.people ?? []).filter((person) => !person.gone);
  return here.length > 0 && here.every((person) => isGone(records, person.id, at));
}

/** Whether that person is away at an instant. */
export function isGone(records: readonly Rec[], person: string, at: Date): boolean {
  return records.some((record) => textOf(record, 'person') === person && spans(record, at));
}

function spans(record: Rec, at: Date): boolean {
  const [since, until] = ['since', 'until'].map((name) => Date.parse(textOf(record, name) ?? ''));
  return since !== undefined && until !== undefined && since <= at.getTime() && at.getTime() < until;
}
