/** A tin as its form shows it, the record's values that it becomes, and what it says in words. Pure. */
import type { Fields, Rec } from '../../store';
import { nursery as texts } from '../../texts/en/nursery';
import { numberOf, textOf } from '../holding';
import { numberIn } from '../mending';
import { figure } from './logwords';

const words = texts.foods;
export const SORTS = Object.keys(words.sorts) as (keyof typeof words.sorts)[];
/** Numbers of a tin, each with what the household takes at most, by its own list of kinds. */
export const NUMBERS = { nauplii_per_gram: 1_000_000, hours_to_hatch: 240, hours_to_enrich: 72, measure_grams: 1000 } as const;
export type NumberName = keyof typeof NUMBERS;
export type FoodDraft = Record<'name' | 'sort' | 'measure' | NumberName, string>;

/** As this page itself writes thousands: there the mark between them is no decimal point. */
const GROUPED = /^\d{1,3}(?:[.,'’ \u00a0\u202f]\d{3})+$/;

/** A number of a tin as it was typed; a yield is a whole number of nauplii, so a mark before three digits parts thousands. */
function typedNumber(name: NumberName, text: string): number {
  return name === 'nauplii_per_gram' && GROUPED.test(text.trim()) ? Number(text.replace(/\D/g, '')) : numberIn(text);
}

/** The form of a tin as it stands, or of a new one. */
export function foodDraft(food: Rec | undefined): FoodDraft {
  const number = (name: NumberName): string => (numberOf(food, name) === null ? '' : String(numberOf(food, name)));
  return {
    name: textOf(food, 'name') ?? '', sort: textOf(food, 'sort') ?? 'brine_shrimp', measure: textOf(food, 'measure') ?? '',
    nauplii_per_gram: number('nauplii_per_gram'), hours_to_hatch: number('hours_to_hatch'), hours_to_enrich: number('hours_to_enrich'), measure_grams: number('measure_grams'),
  };
}

/** What is wrong with one of its numbers as it is typed; nothing where it may be right or is left open. */
export function numberWrong(name: NumberName, text: string): string[] {
  if (text.trim() === '') return [];
  const number = typedNumber(name, text);
  if (!Number.isFinite(number)) return [texts.form.noNumber];
  return number >= 0 && number <= NUMBERS[name] ? [] : [texts.form.range('0', figure(NUMBERS[name]))];
}

/** Whether it hatches from cysts, so that its yield and hours are asked. */
export function isHatched(sort: string): boolean {
  return sort === 'brine_shrimp';
}

/** Whether a culture of it can be set going. */
export function isAlive(sort: string | null): boolean {
  return sort !== 'frozen' && sort !== 'dry';
}

/** The values that the form says; what is left empty is nothing. */
export function foodFields(draft: FoodDraft): Fields {
  const numbers = (Object.keys(NUMBERS) as NumberName[]).map((name) => [name, draft[name].trim() === '' ? null : typedNumber(name, draft[name])]);
  return { name: draft.name.trim() || null, sort: draft.sort, measure: draft.measure.trim() || null, ...Object.fromEntries(numbers) };
}

/** What is known of a tin, in words. */
export function foodWords(food: Rec): string[] {
  const sort = textOf(food, 'sort') ?? 'brine_shrimp';
  const [yields, hours, grams, measure] = [numberOf(food, 'nauplii_per_gram'), numberOf(food, 'hours_to_hatch'), numberOf(food, 'measure_grams'), textOf(food, 'measure')];
  const ofCysts = isHatched(sort) ? [yields === null ? words.unknownYield : words.yields(figure(yields)), hours === null ? null : words.hatches(figure(hours))] : [];
  const all = [words.sorts[sort as keyof typeof words.sorts], ...ofCysts, measure && grams !== null ? words.weighs(measure, figure(grams)) : measure];
  return all.filter((part): part is string => part !== null);
}

const HOUR_MS = 3_600_000;
/** So long a hatch or culture stands among those set going lately (common practice, no source). */
const LATELY_MS = 72 * HOUR_MS;

/** Whether it was set going lately. */
export function isLately(culture: Rec, now: Date): boolean {
  return now.getTime() - Date.parse(textOf(culture, 'at') ?? '') < LATELY_MS;
}

/** When nine in ten have hatched, by the tin; nothing where the tin does not say. */
export function readyAt(culture: Rec, foods: readonly Rec[]): Date | null {
  const hours = numberOf(foods.find((food) => food.id === culture.fields['food_id']), 'hours_to_hatch');
  return hours === null ? null : new Date(Date.parse(textOf(culture, 'at') ?? '') + hours * HOUR_MS);
}
