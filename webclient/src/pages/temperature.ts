/** A tank's temperature as its page shows it: what came down, cut to the days that are asked for. */
import { dateIn } from '../domain/nights';
import type { Rec, Store } from '../store';
import { instantMs } from '../records/instants';
import type { People } from './derived';
import { numberOf, textOf } from './holding';
import { unitsOf } from './units';
import { waterOf, type Duties } from './waters';
import type { Units } from '../domain/units';
import { temperatureWords } from '../ui/measures';

const HOUR_MS = 3_600_000;
/** As far as the forecast draws a straight line from one reading to the next. */
export const BRIDGED_MS = 24 * HOUR_MS;
/** Hours this near to each other are drawn as one line. */
const NEXT_MS = 3 * HOUR_MS;
/** Water of a tank seldom moves so far so soon, while a slip of the finger is mostly farther off (both assumptions). */
const FAR_OFF_C = 3;
const NEAR_MS = 3 * 24 * HOUR_MS;
/** As far back as forecasts look. */
const OF_USE_MS = 60 * 24 * HOUR_MS;

export type Doubt = 'spike' | 'stuck' | 'wrong';
export interface LeftOut {
  readonly thermometer: string;
  readonly since: string;
  readonly until: string;
  readonly why: Doubt;
  readonly n: number;
  /** In hundredths of a degree Celsius, as everything here. */
  readonly low: number;
  readonly high: number;
  readonly is_used: boolean;
}
export interface Gap {
  readonly since: string;
  readonly until: string | null;
}
/** What the server derives of a tank's thermometers. */
export interface WaterBody {
  readonly zone: string;
  readonly from: string;
  readonly hours: readonly (number | null)[];
  readonly left_out: readonly LeftOut[];
  readonly left_out_more: number;
  readonly gaps: readonly Gap[];
  readonly thermometers: readonly { readonly name: string; readonly is_out: boolean }[];
  /** Those that count as their mean in some hour; none came down from an older server. */
  readonly together?: readonly string[];
  readonly range: { readonly low_c: number; readonly high_c: number; readonly low_source: string; readonly high_source: string } | null;
}
export interface Point {
  readonly at: Date;
  readonly celsius: number;
}
/** What somebody read and typed, with the record that says so. */
export interface Typed extends Point {
  readonly record: Rec;
}
export interface DayRow {
  readonly day: string;
  readonly low: number;
  readonly mean: number;
  readonly high: number;
  readonly hours: number;
}
/** All that the page shows of a tank. */
export interface Measured {
  readonly tank: Rec;
  readonly body: WaterBody | undefined;
  readonly typed: readonly Typed[];
  readonly trusts: readonly Rec[];
  /** Ids of typed readings of which somebody said that they were right. */
  readonly right: ReadonlySet<string>;
  readonly water: Duties;
  readonly people: People | undefined;
  readonly units: Units;
  readonly self: string | null;
  readonly role: string | null;
}

/** Read it; nothing where this device knows no such tank. */
export async function measuredOf(store: Store, id: string): Promise<Measured | null> {
  const tank = await store.get(id);
  if (tank?.kind !== 'tank') return null;
  const [body, readings, trusts, words, water, people, units, self] = await Promise.all([
    store.derived<WaterBody>('temperature', id), store.about(id, 'reading'), store.about(id, 'trust'), store.ofKind('trust'), waterOf(store, tank),
    store.derived<People>('people', null), unitsOf(store), store.self(),
  ]);
  const right = new Set(words.flatMap((word) => (word.fields['right'] === true ? [textOf(word, 'about') ?? ''] : [])));
  return { tank, body, typed: typedPoints(readings), trusts, right, water, people, units, self: self?.person ?? null, role: self?.role ?? null };
}

function typedPoints(readings: readonly Rec[]): Typed[] {
  return readings.flatMap((reading) => {
    const [at, celsius] = [instantMs(reading.fields['at']), numberOf(reading, 'temperature_c')];
    return at === null || at === undefined || celsius === null ? [] : [{ at: new Date(at), celsius, record: reading }];
  });
}

/** The thermometers that count as their mean in the water of a brood's tank. */
export async function togetherOf(store: Store, brood: string): Promise<readonly string[]> {
  const fish = await store.get(textOf(await store.get(brood), 'about') ?? '');
  const tank = textOf(fish, 'about');
  return (tank === null ? undefined : await store.derived<WaterBody>('temperature', tank))?.together ?? [];
}

/** The hours that are known, each at its middle. */
export function pointsOf(body: WaterBody | undefined): Point[] {
  const first = Date.parse(body?.from ?? '');
  return (body?.hours ?? []).flatMap((value, i) => (value === null ? [] : [{ at: new Date(first + (i + 0.5) * HOUR_MS), celsius: value / 100 }]));
}

/** Those at or after an instant. */
export function since<T extends { readonly at: Date }>(points: readonly T[], from: Date): T[] {
  return points.filter((point) => point.at >= from);
}

/** Runs of hours that follow one another, and the bridges that the forecast draws between them. */
export function runsOf(points: readonly Point[]): { runs: Point[][]; bridges: [Point, Point][] } {
  const runs: Point[][] = [];
  const bridges: [Point, Point][] = [];
  for (const point of points) {
    const run = runs.at(-1);
    const before = run?.at(-1);
    const apart = before ? point.at.getTime() - before.at.getTime() : Infinity;
    if (run && apart <= NEXT_MS) run.push(point);
    else runs.push([point]);
    if (before && apart > NEXT_MS && apart <= BRIDGED_MS) bridges.push([before, point]);
  }
  return { runs, bridges };
}

/** Each day of the tank's zone that has a known hour. */
export function daysOf(points: readonly Point[], zone: string): DayRow[] {
  const days = new Map<string, number[]>();
  for (const { at, celsius } of points) {
    const day = dateIn(zone, at);
    days.set(day, [...(days.get(day) ?? []), celsius]);
  }
  return [...days].map(([day, values]) => ({
    day, low: Math.min(...values), high: Math.max(...values), hours: values.length,
    mean: values.reduce((sum, value) => sum + value, 0) / values.length,
  }));
}

/** The words by which doubtful readings of a span count all the same: taken away, they are left out again. */
export function wordsFor(one: LeftOut, trusts: readonly Rec[]): Rec[] {
  return trusts.filter((trust) => trust.fields['right'] === true && textOf(trust, 'thermometer') === one.thermometer
    && before(textOf(trust, 'since'), one.until) && before(one.since, textOf(trust, 'until')));
}

/** Typed readings far from all that was measured around them and from what the water is kept at, the newest first; they are shown, and count all the same. */
export function farOff({ tank, body, typed }: Pick<Measured, 'tank' | 'body' | 'typed'>, now: Date): Typed[] {
  const hours = pointsOf(body);
  const kept = numberOf(tank, 'set_point_c');
  const found = since(typed, new Date(now.getTime() - OF_USE_MS)).filter((one) => {
    const near = [...hours, ...typed].filter((other) => other !== one && Math.abs(other.at.getTime() - one.at.getTime()) <= NEAR_MS);
    // Or else, of two readings that differ, both would be doubted.
    const against = [...near.map((other) => other.celsius), ...(kept === null ? [] : [kept])];
    return against.length > 0 && against.every((celsius) => Math.abs(celsius - one.celsius) > FAR_OFF_C);
  });
  return found.sort((a, b) => b.at.getTime() - a.at.getTime());
}

/** The words by which a whole thermometer is left out. */
export function wordsAgainst(name: string, trusts: readonly Rec[]): Rec[] {
  return trusts.filter((trust) => trust.fields['right'] === false && textOf(trust, 'thermometer') === name
    && textOf(trust, 'since') === null && textOf(trust, 'until') === null);
}

/** Whether one instant comes before another; nothing is before and after all. */
function before(one: string | null, other: string | null): boolean {
  return one === null || other === null || Date.parse(one) < Date.parse(other);
}

/** A temperature with its unit, never parted by the end of a line. */
export function degreesWords(celsius: number, units: Units): string {
  return temperatureWords(celsius, units).replace(' ', '\u00a0');
}

/** How long a gap is, in whole hours; one without an end lasts until now. */
export function gapHours(gap: Gap, now: Date): number {
  const until = gap.until === null ? now.getTime() : Date.parse(gap.until);
  return Math.round((until - Date.parse(gap.since)) / HOUR_MS);
}
