/** What the pages write, each as one small act that can be taken back. */
import type { Fields, Rec, Store } from '../store';
import { IN_THE_MOUTH, lightInTheDark, stillThere, type Way } from '../domain/ways';
import type { TakeBack } from './acts.svelte';

/** What stays of an emptied record: what it was about, when, and in which light. */
const LEFT = ['about', 'at', 'at_error_min', 'at_phone', 'clock_doubtful', 'light'];

/** What empties a record, so that it says nothing any more. */
export function emptied(record: Rec): Fields {
  return Object.fromEntries(Object.keys(record.fields).filter((name) => !LEFT.includes(name)).map((name) => [name, null]));
}

/** Take an added record back; a helper, who may take no record away, empties it so that it says nothing. */
export async function takeAway(store: Store, record: Rec): Promise<void> {
  if ((await store.self())?.role !== 'helper') return store.undo(record.id);
  if (['brood', 'batch'].includes(record.kind)) return void (await store.edit(record.id, { ended: 'mistake' }));
  await store.edit(record.id, emptied(record));
}

/** Add a record; a helper, who may take none away, empties it to take it back. */
export async function added(store: Store, kind: string, fields: Fields): Promise<TakeBack> {
  const record = await store.add(kind, fields);
  return () => takeAway(store, record);
}

function seenAt(about: string, now: Date): Fields {
  return { about, at: now.toISOString(), at_error_min: 0 };
}

/** "Still full", or the clutch still there: the look that says all on nine evenings of ten. */
export function addStillFull(store: Store, brood: string, now: Date, lit: boolean, way: Way = IN_THE_MOUTH): Promise<TakeBack> {
  return added(store, 'look', { ...seenAt(brood, now), light: lit ? 'daylight' : lightInTheDark(way), ...stillThere(way) });
}

/** "Ate", at a normal feeding with the lamps on. */
export function addAte(store: Store, brood: string, now: Date): Promise<TakeBack> {
  return added(store, 'look', { ...seenAt(brood, now), light: 'daylight', food: 'ate' });
}

/** A mark on a brood or on one of its duties. */
export function addMark(store: Store, brood: string, now: Date, fields: Fields): Promise<TakeBack> {
  return added(store, 'mark', { ...seenAt(brood, now), ...fields });
}

/** Loose young are safe: said of every male that they may have come from, taken back together. */
export async function addSafe(store: Store, males: readonly { brood: string; duty: string | null }[], now: Date): Promise<TakeBack> {
  const backs: TakeBack[] = [];
  for (const { brood, duty } of males) backs.push(await addMark(store, brood, now, { what: 'loose_fry_handled', duty }));
  return async () => {
    for (const back of backs.reverse()) await back();
  };
}

/** Change fields of a record, those alone that differ from what was shown: another's change that has come in since
 * must not be overruled by a form that only repeats the old. Taking back writes what was there before. */
export async function editBack(store: Store, record: Rec, fields: Fields): Promise<TakeBack> {
  const isSame = (name: string) => (fields[name] ?? null) === (record.fields[name] ?? null);
  const changed = Object.fromEntries(Object.entries(fields).filter(([name]) => !isSame(name)));
  const before = Object.fromEntries(Object.keys(changed).map((name) => [name, record.fields[name] ?? null]));
  if (Object.keys(changed).length === 0) return async () => undefined;
  await store.edit(record.id, changed);
  return () => store.edit(record.id, before);
}

/** A look with what goes with it: a reading of the water, a note promised for later; taken back together. */
export async function addLook(store: Store, look: Fields, reading: Fields | null, noteLater: boolean): Promise<TakeBack> {
  const seen = await store.add('look', look);
  const measured = reading ? await store.add('reading', reading) : null;
  if (noteLater) await promiseNote(store, seen.id);
  return async () => {
    await takeAway(store, seen);
    if (measured) await takeAway(store, measured);
    await dropPromise(store, seen.id);
  };
}

async function promised(store: Store): Promise<string[]> {
  return (await store.setting<string[]>('notes_later')) ?? [];
}

async function promiseNote(store: Store, look: string): Promise<void> {
  await store.keep('notes_later', [...(await promised(store)), look]);
}

/** The note of a look has been written, or is not wanted any more. */
export async function dropPromise(store: Store, look: string): Promise<void> {
  await store.keep('notes_later', (await promised(store)).filter((id) => id !== look));
}
