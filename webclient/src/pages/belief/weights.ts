/** Which looks moved the forecast, how far, and because of what the night changed. */
import type { Rec } from '../../store';
import { belief } from '../../texts/belief';
import { later } from '../../texts/later';
import { dayName, momentWords } from '../../ui/dates';
import { lookWords } from '../../ui/said';
import type { Forecast, Influence } from '../derived';
import { evening } from '../doubts';
import { atOf, textOf, type Holding } from '../holding';
import type { Hold } from '../whose';
import { endDay } from './learned';

/** Under this, some five hours, nobody would act otherwise, and a word would be clutter. */
const TINY_DAYS = 0.2;
const RANKED = 3;

function nightNow(forecast: Forecast): string | null {
  return forecast.catch?.night ?? null;
}

function movesNight(one: Influence, forecast: Forecast): boolean {
  return one.night_without !== nightNow(forecast);
}

/** The looks that moved something worth a word, those that moved the night first. */
export function weightsOf(forecast: Forecast): Influence[] {
  const felt = (forecast.influences ?? []).filter((one) => movesNight(one, forecast) || Math.abs(one.hatched_later_days) >= TINY_DAYS);
  const rank = (one: Influence): number => (movesNight(one, forecast) ? 1000 : 0) + Math.abs(one.hatched_later_days);
  return felt.sort((a, b) => rank(b) - rank(a));
}

/** What would be believed without that look: said beside the last look of its evening. */
export function withoutWords(look: string, holding: Holding): string | null {
  const forecast = holding.forecast;
  const one = forecast && weightsOf(forecast).find((weight) => lastLook(eveningOf(weight.look, holding))?.id === look);
  if (!forecast || !one) return null;
  const words = belief.weights;
  const night = movesNight(one, forecast) ? [words.instead(nightWords(one.night_without), nightWords(nightNow(forecast)))] : [];
  const hatch = Math.abs(one.hatched_later_days) >= TINY_DAYS ? [words.hatch(-one.hatched_later_days)] : [];
  return words.without(eveningOf(one.look, holding).length > 1, [...hatch, ...night].join(', '));
}

function nightWords(night: string | null): string {
  return night === null ? belief.weights.none2 : dayName(night);
}

/** The looks and feedings of the evening that this one began, in order of time: the server judges them as one. */
function eveningOf(id: string, { looks, feedings }: Holding): Rec[] {
  const eaten = feedings.filter((one) => textOf(one, 'took') !== null);
  const records = [...looks, ...eaten].sort((a, b) => atOf(a).getTime() - atOf(b).getTime());
  const first = records.find((one) => one.id === id);
  const found = first ? evening(first, null, records) : [];
  // One that was filled in from memory is an evening by itself.
  return first && found.length === 0 ? [first] : found;
}

function lastLook(records: readonly Rec[]): Rec | undefined {
  return records.findLast((one) => one.kind === 'look');
}

export interface Weight {
  /** The last look of the evening, beside which it is said too; or a feeding without one. */
  readonly id: string;
  /** It stands in the list of looks. */
  readonly isLook: boolean;
  readonly what: string;
  readonly effect: string;
}

/** The looks that count most, in words. */
export function rankedWeights(holding: Holding, zone: string, now: Date): Weight[] {
  const forecast = holding.forecast;
  if (!forecast) return [];
  return weightsOf(forecast).slice(0, RANKED).flatMap((one) => {
    const records = eveningOf(one.look, holding);
    const [first] = records;
    if (!first) return [];
    const [look, said] = [lastLook(records), new Set(records.map((record) => recordWords(record, holding)))];
    return [{ id: look?.id ?? first.id, isLook: look !== undefined, what: dated(first, [...said].join('; '), zone, now), effect: effectWords(one, forecast) }];
  });
}

function effectWords(one: Influence, forecast: Forecast): string {
  const words = belief.weights;
  const hatch = Math.abs(one.hatched_later_days) >= TINY_DAYS ? [words.puts(one.hatched_later_days)] : [];
  const night = one.night_without === null ? words.noNight : words.night(dayName(one.night_without));
  return [...hatch, ...(movesNight(one, forecast) ? [night] : [])].join(' ');
}

/** A look or feeding in words with its hour. */
function saidOf(id: string, holding: Holding, zone: string, now: Date): string | null {
  const record = [...holding.looks, ...holding.feedings].find((one) => one.id === id);
  return record ? dated(record, recordWords(record, holding), zone, now) : null;
}

function recordWords(record: Rec, { words }: Holding): string {
  return record.kind === 'feeding' ? belief.because.fed[textOf(record, 'took') as 'ate'] : lookWords(record.fields, words.look.said);
}

function dated(record: Rec, words: string, zone: string, now: Date): string {
  return `${momentWords(atOf(record), zone, now)}: ${words}`;
}

/** What moved the night in words, and the brood to open where it was what a brood taught. */
export interface Because {
  readonly words: string;
  readonly brood: string | null;
}

/** How another brood's lesson changed: what it teaches now is another thing, or nothing. */
function lessonWords(hold: Hold, forecast: Forecast | undefined): string {
  const words = belief.because;
  const whose = words.whose(textOf(hold.fish, 'name') ?? '', endDay(hold));
  return forecast?.taught.broods[hold.brood.id] === undefined ? words.untaught(whose) : words.taught(whose);
}

/** Because of what the night moved; nothing where this phone does not know it. */
export function becauseOf(id: string, holding: Holding, holds: readonly Hold[], zone: string, now: Date): Because | null {
  const hold = holds.find((one) => one.brood.id === id && id !== holding.brood.id);
  if (hold) return { words: lessonWords(hold, holding.forecast), brood: id };
  const mark = holding.marks.find((one) => one.id === id);
  const names = later.broods[holding.way].happened.names as Readonly<Record<string, string>>;
  const what = mark ? names[textOf(mark, 'what') ?? ''] : null;
  if (mark && what) return { words: `${what}, ${momentWords(atOf(mark), zone, now)}`, brood: null };
  const said = saidOf(id, holding, zone, now);
  return said ? { words: said, brood: null } : null;
}
