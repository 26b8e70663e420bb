/** The turns of the household, as its records say them and as they are changed. */
import { WEEKDAYS, daysIn, type Turn, type Weekday } from '../domain/turns';
import type { Rec, Store } from '../store';
import type { TakeBack } from './acts.svelte';
import { textOf } from './holding';
import { editBack, takeAway } from './writes';

const ofPerson = (records: readonly Rec[], person: string): Rec[] => records.filter((record) => textOf(record, 'person') === person);

/** The days of one person: two phones may each have begun a record of his, and then all days of both are his. */
export function daysOf(records: readonly Rec[], person: string): Weekday[] {
  return daysIn(ofPerson(records, person).map((record) => textOf(record, 'weekdays')));
}

/** The turns of all who are named, each person once. */
export function turnsIn(records: readonly Rec[]): Turn[] {
  const people = new Set(records.map((record) => textOf(record, 'person')).filter((person) => person !== null));
  return [...people].map((person) => ({ person, days: daysOf(records, person) }));
}

/**
 * Give one person a day, or take it from him, the other days staying as the store has them now. Every record of his
 * then says the same, so that what is shown is what each of them says.
 */
export async function sayDay(store: Store, person: string, day: Weekday, isHis: boolean): Promise<TakeBack> {
  const own = ofPerson(await store.ofKind('rota'), person);
  const before = daysOf(own, person);
  const weekdays = WEEKDAYS.filter((one) => (one === day ? isHis : before.includes(one))).join(',');
  if (own.length === 0) {
    const added = await store.add('rota', { person, weekdays });
    return () => takeAway(store, added);
  }
  const backs: TakeBack[] = [];
  for (const record of own) backs.push(await editBack(store, record, { weekdays }));
  return async () => {
    for (const back of backs.reverse()) await back();
  };
}
