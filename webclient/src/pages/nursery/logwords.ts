/** What was logged of a batch, in words. */
import type { Units } from '../../domain/units';
import type { Rec } from '../../store';
import { texts as common } from '../../texts';
import { later } from '../../texts/later';
import { nursery as texts } from '../../texts/en/nursery';
import { temperatureWords, volumeWords } from '../../ui/measures';
import { upperFirst } from '../../ui/said';
import { numberOf, textOf } from '../holding';

/** What the words need to know: the units of this device, the tins, the jug of the batch. */
export interface Wording {
  readonly units: Units;
  readonly foods: readonly Rec[];
  readonly batch: Rec | undefined;
}
const words = texts.log;

/** A number as people write it here. */
export function figure(number: number, most = 3): string {
  return new Intl.NumberFormat(undefined, { maximumFractionDigits: most }).format(number);
}

/** How often the jug of the house that is; nothing where it has none. */
export function jugsWords(litres: number, batch: Rec | undefined): string | null {
  const [jug, holds] = [textOf(batch, 'jug'), numberOf(batch, 'jug_litres')];
  return jug && holds ? words.jugs(figure(litres / holds, 2), jug) : null;
}

function countWords(record: Rec): string {
  const [alive, dead] = [numberOf(record, 'alive'), numberOf(record, 'dead')];
  const how = words.hows[(textOf(record, 'how') ?? 'about') as keyof typeof words.hows];
  return [alive === null ? null : words.alive(alive, how), dead === null ? null : words.found(dead)].filter(Boolean).join(', ');
}

function testWords(record: Rec, units: Units): string {
  const said = (name: string, say: (number: number) => string): string[] => {
    const number = numberOf(record, name);
    return number === null ? [] : [say(number)];
  };
  const parts = [
    ...said('ammonia_mg_l', (n) => words.ammonia(figure(n))), ...said('ph', (n) => words.ph(figure(n))), ...said('temperature_c', (n) => temperatureWords(n, units)),
    ...said('salinity_psu', (n) => words.psu(figure(n))), ...said('nitrite_mg_l', (n) => words.nitrite(figure(n))),
  ];
  return words.tested(parts.join(', '));
}

/** A tin's name, or the sort of food where it is of none. */
export function foodName(record: Rec, foods: readonly Rec[]): string {
  const tin = foods.find((food) => food.id === record.fields['food_id']);
  const sort = (textOf(record, 'sort') ?? textOf(tin, 'sort') ?? 'brine_shrimp') as keyof typeof texts.foods.sorts;
  return textOf(tin, 'name') ?? texts.foods.sorts[sort];
}

function cultureWords(record: Rec, { units, foods }: Wording): string {
  const [grams, litres] = [numberOf(record, 'grams'), numberOf(record, 'litres')];
  const amount = words.inWater(grams === null ? '' : words.grams(figure(grams)), litres === null ? '' : volumeWords(litres, units));
  return words.hatch(upperFirst(foodName(record, foods)), amount);
}

function markWords(record: Rec): string {
  const name = words.dutyNames[(textOf(record, 'duty')?.split(':')[0] ?? '') as keyof typeof words.dutyNames] ?? common.tonight.duty.other.title;
  const { saidOfDuty } = later.brood.marks;
  return saidOfDuty[(textOf(record, 'what') ?? 'done') as keyof typeof saidOfDuty](name);
}

/** One entry of the log in words. */
export function loggedWords(record: Rec, wording: Wording): string {
  if (record.kind === 'mark') return markWords(record);
  if (record.kind === 'count') return countWords(record) || words.noted;
  if (record.kind === 'water_test') return testWords(record, wording.units);
  if (record.kind === 'culture') return cultureWords(record, wording);
  if (record.kind === 'feeding') return texts.fed.said(texts.fed.bellies[textOf(record, 'belly') as keyof typeof texts.fed.bellies] ?? null);
  const litres = numberOf(record, 'litres');
  return litres === null ? words.noted : words.changed(volumeWords(litres, wording.units), jugsWords(litres, wording.batch));
}
