/** One event that several records tell of, as the pages show it: who logged it, what they say together, and how it is taken apart. */
import { events, type Written } from '../domain/twice';
import type { Fields, Rec, Store } from '../store';
import { texts } from '../texts';
import { shared } from '../texts/shared';
import type { TakeBack } from './acts.svelte';
import type { People } from './derived';
import { inTurn } from './happening';
import { editBack } from './writes';

/** Who logged it, each named once, in the order in which they did. */
export function namesOf(event: readonly Rec[], people: People | undefined): string[] {
  const authors = [...new Set(event.map((record) => record.author))];
  return authors.map((author) => people?.people.find((person) => person.id === author)?.name ?? texts.tonight.duty.somebody);
}

/** That it counts once, in words: by whom it was logged, and how often. */
export function onceWords(event: readonly Rec[], people: People | undefined): string {
  const [names, words] = [namesOf(event, people), shared.twice];
  const [only] = names;
  return names.length === 1 && only ? words.byOne(only, event.length) : words.byMany(names);
}

/** What they say together: each finding that any of them has, as they agree where both say it. */
export function saidTogether(event: readonly Rec[]): Fields {
  const said = event.toReversed().map(({ fields }) => Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== null)));
  return Object.assign({}, ...said) as Fields;
}

/** "These were two": each but the first is an event of its own from now on. */
export function takeApart(store: Store, event: readonly Rec[]): Promise<TakeBack> {
  return inTurn(event.slice(1).map((record) => () => editBack(store, record, { separate: true })));
}

/** Whether a record is one of its own only because somebody said so, and would else be one with another. */
export function isSaidApart<R extends Written>(record: R, records: readonly R[]): boolean {
  if (record.fields['separate'] !== true) return false;
  const asked = records.map((one) => (one.id === record.id ? { ...one, fields: { ...one.fields, separate: null } } : one));
  return events(asked).some((event) => event.length > 1 && event.some((one) => one.id === record.id));
}

/** It was one event after all. */
export function putTogether(store: Store, record: Rec): Promise<TakeBack> {
  return editBack(store, record, { separate: null });
}
