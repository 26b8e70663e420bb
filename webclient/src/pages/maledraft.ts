/** A male that is being entered, and the brood that begins where he holds. */
import type { Fields, Rec, Store } from '../store';
import { areLampsLit, instantIn, shiftDate, dateIn, type Lamps } from '../domain/nights';
import { lightInTheDark, stillThere, wayOf, type Way } from '../domain/ways';
import type { TakeBack } from './acts.svelte';
import { textOf } from './holding';
import { takeAway } from './writes';

export interface MaleDraft {
  /** A male that is known already, or nothing for a new one. */
  readonly fish: string | null;
  readonly name: string;
  readonly spot: string;
  readonly species: string;
  readonly tank: string;
  readonly hasReleased: boolean;
  readonly holds: boolean;
  /** Days since he was first seen full. */
  readonly fullDaysAgo: number;
  /** Days since he was last surely not holding; nothing where that is not known. */
  readonly emptyDaysAgo: number | null;
}

function endOfDay(daysAgo: number, lamps: Lamps, now: Date): string {
  if (daysAgo === 0) return now.toISOString();
  return instantIn(lamps.zone, shiftDate(dateIn(lamps.zone, now), 1 - daysAgo), '00:00').toISOString();
}

function startOfDay(daysAgo: number, lamps: Lamps, now: Date): string {
  return instantIn(lamps.zone, shiftDate(dateIn(lamps.zone, now), -daysAgo), '00:00').toISOString();
}

/** Between which instants he took them up: after the day he was surely empty began, before the day he was full ended. */
export function broodBounds(draft: MaleDraft, lamps: Lamps, now: Date): { not_before: string | null; not_after: string } {
  const before = draft.emptyDaysAgo === null ? null : startOfDay(draft.emptyDaysAgo, lamps, now);
  return { not_before: before, not_after: endOfDay(draft.fullDaysAgo, lamps, now) };
}

async function fishOf(store: Store, draft: MaleDraft, made: Rec[]): Promise<string> {
  if (draft.fish) return draft.fish;
  const fields = { about: draft.tank, name: draft.name.trim(), spot: draft.spot.trim(), species: draft.species, sex: 'male', has_released_before: draft.hasReleased };
  const fish = await store.add('fish', fields);
  made.push(fish);
  return fish.id;
}

/** What a male's form makes of his record. */
export function maleChanges(form: { name: string; spot: string; species: string; tank: string; hasReleased: boolean }): Fields {
  return { name: form.name.trim(), spot: form.spot.trim(), species: form.species, about: form.tank, has_released_before: form.hasReleased };
}

function firstLook(brood: string, way: Way, lamps: Lamps, now: Date): Fields {
  // In the dark a nest was not looked at: what is said of it was seen by day.
  return { about: brood, at: now.toISOString(), at_error_min: 0, light: areLampsLit(lamps, now) ? 'daylight' : lightInTheDark(way), ...stillThere(way) };
}

/** Save the male and, where he holds, his brood with the look that says so; all are taken back together. */
export async function saveMale(store: Store, draft: MaleDraft, lamps: Lamps, now: Date): Promise<{ brood: string | null; takeBack: TakeBack }> {
  const made: Rec[] = [];
  const fish = await fishOf(store, draft, made);
  const species = draft.fish ? textOf(await store.get(fish), 'species') : draft.species;
  const brood = draft.holds ? await store.add('brood', { about: fish, ...broodBounds(draft, lamps, now), ended: null }) : null;
  // Whoever says that he holds has seen his throat, or the clutch: that is the first look.
  if (brood) made.push(brood, await store.add('look', firstLook(brood.id, wayOf(species), lamps, now)));
  const takeBack = async (): Promise<void> => {
    for (const record of [...made].reverse()) await takeAway(store, record);
  };
  return { brood: brood?.id ?? null, takeBack };
}
