/** The assumptions on which a night depends, in words: what each is, its value and range, and the night at either end. */
import type { Units } from '../../domain/units';
import type { Way } from '../../domain/ways';
import { belief } from '../../texts/belief';
import { numbers, numbersOf } from '../../texts/en/numbers';
import type { Assumptions, Dependence } from '../../sync';
import { dayName } from '../../ui/dates';
import { temperatureUnit } from '../../ui/measures';

const FAHRENHEIT_PER_CELSIUS = 1.8;
const TEN_DEGREES = 10;

export interface Assumed {
  readonly name: string;
  readonly what: string;
  readonly value: string;
  readonly ends: string;
  readonly source: string;
}

/** A value in the measure that the catalogue names for it. */
export function valueWords(name: string, value: number, unit: string, units: Units): string {
  const words = belief.rests.measure;
  const step = units.temperature === 'F' ? FAHRENHEIT_PER_CELSIUS : 1;
  const measure = numbers[name]?.measure;
  if (measure === undefined) return `${value} ${unit}`;
  if (measure === 'per_ten_degrees') return words.per_ten_degrees(value, `${TEN_DEGREES * step} ${temperatureUnit(units)}`);
  return measure === 'degrees' ? words.degrees(value * step, temperatureUnit(units)) : words[measure](value);
}

function sourceWords(source: string): string {
  const words = belief.rests;
  return words.source(source === 'assumption' ? words.assumed : source);
}

function night(date: string | null): string {
  return date === null ? belief.rests.noneAt : dayName(date);
}

function assumed(one: Dependence, way: Way, units: Units): Assumed {
  const words = belief.rests;
  const said = (value: number): string => valueWords(one.name, value, one.unit, units);
  return {
    name: one.name, what: numbersOf[way][one.name]?.what ?? one.name, value: words.value(said(one.value), said(one.low), said(one.high)),
    ends: words.ends(said(one.low), night(one.night_at_low), said(one.high), night(one.night_at_high)), source: sourceWords(one.source),
  };
}

/** What the night rests on: a sentence, and each assumption that could make it another. */
export function restsOn({ night: named, depends_on }: Assumptions, way: Way, units: Units): { says: string; all: Assumed[] } {
  const words = belief.rests;
  const none = named === null ? words.noNight : words.none;
  const some = named === null ? words.someNone : words.some(depends_on.length, dayName(named));
  return { says: depends_on.length === 0 ? none : some, all: depends_on.map((one) => assumed(one, way, units)) };
}
