/** What finished broods have taught, as a brood's page says it. */
import type { Units } from '../../domain/units';
import type { Way } from '../../domain/ways';
import { dateIn } from '../../domain/nights';
import { belief, beliefs } from '../../texts/belief';
import { dayName } from '../../ui/dates';
import { temperatureWords } from '../../ui/measures';
import { numberOf, textOf, type Holding } from '../holding';
import { lampsOf } from '../lamps';
import type { Hold } from '../whose';
import type { Forecast } from '../derived';

/** From this difference to the tank on the reference temperature is worth a word. */
const WARMTH_MATTERS_C = 0.5;
/** From this difference to the books on a day in the mouth or of hatching is worth a sentence. */
const START_MATTERS_DAYS = 0.05;

export interface LearnedView {
  readonly sentences: readonly string[];
  readonly broods: readonly { readonly id: string; readonly words: string }[];
}

function taughtBy(forecast: Forecast, holds: readonly Hold[]): Hold[] {
  const taught = holds.filter(({ brood }) => forecast.taught.broods[brood.id] !== undefined);
  return taught.sort((a, b) => whenEnded(b).localeCompare(whenEnded(a)));
}

function whenEnded({ brood }: Hold): string {
  return textOf(brood, 'ended_at') ?? textOf(brood, 'at') ?? '';
}

function isLost({ brood }: Hold): boolean {
  return textOf(brood, 'ended') === 'lost';
}

/** The day on which a brood ended; nothing of one that is under way, or under way again. */
export function endDay(hold: Hold): string | null {
  const at = whenEnded(hold);
  return at === '' ? null : dayName(dateIn(lampsOf(hold.tank).zone, new Date(at)));
}

/** A brood by its male and the day on which it ended. */
function broodWords(hold: Hold): string {
  const words = belief.learned;
  const name = textOf(hold.fish, 'name') ?? '';
  const parts = [endDay(hold), isLost(hold) ? words.lostOne : null].filter((part) => part !== null);
  return parts.length > 0 ? words.brood(name, parts.join(', ')) : name;
}

function ownWords(his: readonly Hold[], name: string, than: string, at: string): string {
  const [n, lost] = [his.length, his.filter(isLost).length];
  if (lost === n) return belief.learned.none(name);
  return lost === 0 ? belief.learned.own(n, name, than, at) : belief.learned.ownLost(n, lost, name, than, at);
}

/** How his own broods differ from the books, or where he has none the household's. */
function hatchWords(forecast: Forecast, his: readonly Hold[], all: readonly Hold[], name: string, at: string): string[] {
  const { taught, books } = forecast;
  const words = belief.learned;
  const than = (days: number): string => words.than(days - books.hatch_days);
  if (taught.own_hatch_days === null || his.length === 0) return taught.hatch_days === null ? [] : [words.house(all.length, all.filter(isLost).length, than(taught.hatch_days), at)];
  const own = ownWords(his, name, than(taught.own_hatch_days), at);
  return taught.hatch_days === null || all.length === his.length ? [own] : [own, words.all(all.length, than(taught.hatch_days))];
}

function startWords({ learned, books }: Forecast, way: Way): string[] {
  const words = beliefs[way].learned;
  if (!learned) return [];
  const moved = Math.abs(learned.hatch_days - books.hatch_days) >= START_MATTERS_DAYS;
  const start = moved ? [words.start(words.days(learned.hatch_days), words.days(books.hatch_days))] : [];
  const mouth = learned.mouth_days === null ? [] : [words.mouth(words.days(learned.mouth_days))];
  const early = learned.own_broods > 0 && learned.early_chance > 0 ? [words.early(Math.round(1 / learned.early_chance))] : [];
  return [...start, ...mouth, ...early];
}

/** What was learned in words, with the broods that it comes from; nothing where nothing was. */
export function learnedView({ brood, fish, tank, forecast, way }: Holding, holds: readonly Hold[], units: Units): LearnedView | null {
  if (!forecast?.learned || forecast.error) return null;
  const all = taughtBy(forecast, holds);
  const his = all.filter((hold) => hold.fish?.id === fish?.id && hold.brood.id !== brood.id);
  const reference = forecast.books.reference_c;
  const away = Math.abs((numberOf(tank, 'set_point_c') ?? reference) - reference);
  const at = away >= WARMTH_MATTERS_C ? belief.learned.at(temperatureWords(reference, units)) : '';
  const sentences = [...hatchWords(forecast, his, all, textOf(fish, 'name') ?? '', at), ...startWords(forecast, way)];
  return { sentences, broods: all.map((hold) => ({ id: hold.brood.id, words: broodWords(hold) })) };
}
