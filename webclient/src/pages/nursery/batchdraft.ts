/** A batch as its form shows it, and the record's values that it becomes. Pure. */
import { litresOf, shownVolume, type Units } from '../../domain/units';
import type { Fields, Rec } from '../../store';
import { nursery as texts } from '../../texts/en/nursery';
import { numberOf, textOf } from '../holding';
import { numberIn } from '../mending';

export interface BatchDraft {
  name: string;
  spot: string;
  litres: string;
  alive: number | null;
  /** How sure that number is; empty where nobody has said. */
  how: string;
  meals: number;
  portion: string;
  jug: string;
  jugLitres: string;
}

/** So many meals a new batch begins with (common practice, no source). */
const USUAL_MEALS = 3;
const MOST_MEALS = 24;

function volumeText(record: Rec | undefined, field: string, units: Units): string {
  const litres = numberOf(record, field);
  return litres === null ? '' : String(shownVolume(litres, units.volume, 3));
}

/** What a further batch of one brood begins with: how many of the young went into it only its keeper can say. */
export function startOfNext<T extends { alive: number | null }>(start: T, hasBatch: boolean): T {
  return hasBatch ? { ...start, alive: null } : start;
}

/** The form of a batch as it stands, or of a new one. */
export function draftOf(batch: Rec | undefined, units: Units, start: { name: string; alive: number | null } = { name: '', alive: null }): BatchDraft {
  return {
    name: textOf(batch, 'name') ?? start.name, spot: textOf(batch, 'spot') ?? '', litres: volumeText(batch, 'litres', units),
    alive: batch ? numberOf(batch, 'alive') : start.alive, how: textOf(batch, 'how') ?? (batch ? '' : 'exact'), meals: numberOf(batch, 'meals_a_day') ?? USUAL_MEALS,
    portion: textOf(batch, 'portion') ?? '', jug: textOf(batch, 'jug') ?? '', jugLitres: volumeText(batch, 'jug_litres', units),
  };
}

/** A number of meals a day that many more or fewer. */
export function steppedMeals(meals: number, by: number): number {
  return Math.min(MOST_MEALS, Math.max(1, meals + by));
}

/** What is wrong with a volume as it is typed; nothing where it may be right or is left open. */
export function volumeWrong(text: string): string[] {
  const number = numberIn(text);
  return text.trim() === '' || (Number.isFinite(number) && number >= 0) ? [] : [texts.batch.atLeastZero];
}

function litresIn(text: string, before: Rec | undefined, field: string, units: Units): number | null {
  // What nobody touched stays to the millilitre what it was.
  if (before && text === volumeText(before, field, units)) return numberOf(before, field);
  return text.trim() === '' ? null : litresOf(numberIn(text), units.volume);
}

/** The values that the form says; what is left empty is nothing. */
export function batchFields(draft: BatchDraft, units: Units, before?: Rec): Fields {
  const text = (typed: string): string | null => typed.trim() || null;
  return {
    name: text(draft.name), spot: text(draft.spot), litres: litresIn(draft.litres, before, 'litres', units), alive: draft.alive, how: draft.alive === null ? null : text(draft.how),
    meals_a_day: draft.meals, portion: text(draft.portion), jug: text(draft.jug), jug_litres: litresIn(draft.jugLitres, before, 'jug_litres', units),
  };
}
