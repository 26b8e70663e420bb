/** What a male's card on Tonight says: pure, from what is known of him and the hour. */
import { texts } from '../texts';
import { insideSentence, lossAside, ofHundred } from '../ui/chances';
import { agoWords, clockTime, dayName, dayWord, daySpan, momentWords, nightName, placeOf, weekday } from '../ui/dates';
import { lookWords, upperFirst } from '../ui/said';
import type { CardView, CatchView } from '../ui/views';
import type { Words } from '../texts/ways';
import { chancesAt, type Chances } from '../domain/forecast';
import { areLampsLit, dateIn, nightOf, type Lamps } from '../domain/nights';
import { IN_THE_MOUTH, NEST } from '../domain/ways';
import type { Forecast, NightRow, Quantiles } from './derived';
import { atOf, lastAte, looksNotCounted, textOf, type Holding } from './holding';
import { lampsOf } from './lamps';
import { lookToMake } from './nextlook';
import { verdictWords } from './verdict';

const DAY_MS = 86_400_000;
const HOUR_MS = 3_600_000;
const OLD_AFTER_MS = 12 * HOUR_MS;
const STRIP_NIGHTS = 8;
/** From this chance on the card speaks of a loss, gently. */
const LOST_FROM = 0.5;
/** From this chance on no egg is left that light could keep from hatching. */
const OVER_FROM = 0.95;

/** Whole days since he last ate. */
export function daysFasting(holding: Holding, now: Date): number | null {
  const ate = lastAte(holding);
  return ate ? Math.max(0, Math.floor((now.getTime() - ate.getTime()) / DAY_MS)) : null;
}

/** What one night earlier and one night later cost, in words. */
export function costWords(nights: readonly NightRow[], night: string, words: Words['tonight']['catch'] = texts.tonight.catch): string {
  const i = nights.findIndex((row) => row.night === night);
  const cost = (j: number): number | null => {
    const [best, other] = [nights[i], nights[j]];
    return best && other ? ofHundred(best.saved - other.saved) : null;
  };
  const [before, after] = [cost(i - 1), cost(i + 1)];
  const earlier = before === null ? null : words.earlier(before);
  const later = after === null ? null : earlier === null ? words.laterOnly(after) : words.later(after);
  return words.why(earlier, later);
}

/** The hour of a night, with its day where that is past midnight: it would seem a day too early. */
function hourOf({ night, at }: { night: string; at: string }, zone: string): string {
  const [day, clock] = [dateIn(zone, new Date(at)), clockTime(new Date(at), zone)];
  return day === night ? clock : `${weekday(day)} ${clock}`;
}

function headlineOf(night: string, tonight: string): string {
  return upperFirst(nightName(night, tonight));
}

/** The night to catch as it is shown, or nothing where there is none. */
export function catchView(forecast: Forecast, lamps: Lamps, now: Date, words: Words['tonight']['catch'] = texts.tonight.catch): CatchView | null {
  const best = forecast.catch;
  if (!best) return null;
  const tonight = nightOf(lamps, now);
  return {
    night: best.night,
    headline: headlineOf(best.night, tonight),
    time: hourOf(best, lamps.zone),
    place: placeOf(lamps.zone, new Date(best.at)),
    why: costWords(forecast.nights, best.night, words),
    saves: words.saves(ofHundred(best.saved)),
    isTonight: best.night === tonight,
    isNow: best.night === tonight && Date.parse(best.at) <= now.getTime(),
    isPast: best.night < tonight,
  };
}

function span(quantiles: Quantiles, zone: string): string {
  return daySpan(new Date(quantiles.q10), new Date(quantiles.q90), zone);
}

function windowsOf({ way }: Holding, forecast: Forecast, zone: string): { label: string; span: string }[] {
  const words = texts.tonight.window;
  return [
    { label: words.hatch, span: span(forecast.hatched, zone) },
    // Elsewhere they are out as soon as they hatch.
    ...(way === IN_THE_MOUTH ? [{ label: words.release, span: span(forecast.released, zone) }] : []),
  ];
}

/** The look that is named, in words with its hour. */
export function namedLook(holding: Holding, id: string, zone: string, now: Date): { when: string; what: string } | null {
  const look = holding.looks.find((one) => one.id === id);
  return look ? { when: momentWords(atOf(look), zone, now), what: lookWords(look.fields, holding.words.look.said) } : null;
}

function movedWords(holding: Holding, lamps: Lamps, now: Date): string | null {
  const changed = holding.forecast?.changed;
  if (!changed?.from_night || !changed.to_night || changed.from_night === changed.to_night) return null;
  const look = changed.because ? namedLook(holding, changed.because, lamps.zone, now) : null;
  if (!look) return null;
  return texts.tonight.catch.moved(dayName(changed.from_night), dayName(changed.to_night), `${look.what}, ${look.when}`);
}

function conflictWords(holding: Holding, zone: string, now: Date): string | null {
  const conflict = holding.forecast?.conflict;
  if (!conflict) return null;
  const look = namedLook(holding, conflict.look, zone, now);
  return look ? texts.tonight.conflict.text(look.when, look.what) : conflict.why;
}

function lastLookWords(holding: Holding, zone: string, now: Date): string {
  const last = holding.looks.at(-1);
  if (!last) return texts.tonight.noLook;
  const at = atOf(last);
  const near = now.getTime() - at.getTime() < 6 * HOUR_MS;
  return texts.tonight.lastLook(near ? agoWords(at, now) : momentWords(at, zone, now), lookWords(last.fields, holding.words.look.said));
}

function ageWords(forecast: Forecast, now: Date, offline: boolean): string | null {
  const issued = new Date(forecast.issued_at);
  const old = now.getTime() - issued.getTime() > OLD_AFTER_MS;
  if (!old && !offline) return null;
  return offline ? texts.tonight.ageOffline(agoWords(issued, now)) : texts.tonight.ageOld(agoWords(issued, now));
}

function emptyForecast(note: string): Partial<CardView> {
  return { day: null, offDays: 0, chances: null, sentence: null, aside: null, windows: [], catch: null, nothingToSave: false, nights: [], moved: null, rough: false, forecastNote: note, age: null, behind: 0, verdict: null, nextLook: null, conflict: null };
}

/** What the newest look means for the night, where the forecast does not count it yet. */
function provisionalWords(holding: Holding, lamps: Lamps): string | null {
  const last = holding.looks.at(-1);
  if (!last || looksNotCounted(holding) === 0) return null;
  return verdictWords(holding.forecast, last.fields, last.fields['light'], atOf(last), lamps, holding.words);
}

/** The look that could change the night, while it can be made. */
function nextLookWords(forecast: Forecast, lamps: Lamps, now: Date): string | null {
  const next = lookToMake(forecast, lamps, now);
  if (!next) return null;
  const { look: { at, light, look_for: part }, isDue } = next;
  const words = texts.tonight.nextLook;
  const when = isDue ? words.now : `${dayWord(new Date(at), lamps.zone, now)} ${clockTime(new Date(at), lamps.zone)}`;
  return words.text(when, light === 'daylight' ? words.byDay : words.underRed, words.parts[part as keyof typeof words.parts] ?? part);
}

/** Whole days since the likeliest spawning, and how many days that may be off: half of the middle eight in ten. */
export function dayOfHold(forecast: Forecast, now: Date): { day: number; offDays: number } {
  const [early, middle, late] = [forecast.spawned.q10, forecast.spawned.q50, forecast.spawned.q90].map((at) => Date.parse(at)) as [number, number, number];
  return { day: Math.max(0, Math.floor((now.getTime() - middle) / DAY_MS)), offDays: Math.round((late - early) / 2 / DAY_MS) };
}

/** The chances at `now`: off the grid, or as issued where the grid begins a little later; none past its end. */
export function chancesNow(forecast: Forecast, now: Date): Chances | null {
  const first = forecast.grid[0];
  if (!first || now.getTime() < Date.parse(first.at)) return forecast.now;
  return chancesAt(forecast.grid, now);
}

/** Whether his nest must lie in full darkness: from lamps-out until they have hatched, or are to be collected. */
export function wantsDarkness({ way, forecast, tank }: Holding, now: Date): boolean {
  const lamps = lampsOf(tank);
  if (way !== NEST || areLampsLit(lamps, now)) return false;
  if (!forecast || forecast.error) return true;
  const chances = chancesNow(forecast, now);
  const isOver = chances !== null && chances.released + chances.lost >= OVER_FROM;
  return !isOver && !catchView(forecast, lamps, now)?.isNow;
}

function shownForecast(holding: Holding, forecast: Forecast, chances: Chances, now: Date, offline: boolean): Partial<CardView> {
  const lamps = lampsOf(holding.tank);
  const { states, tonight: { catch: words } } = holding.words;
  const best = catchView(forecast, lamps, now, words);
  const tonight = nightOf(lamps, now);
  return {
    ...dayOfHold(forecast, now), chances, sentence: insideSentence(chances, states), aside: lossAside(chances, states),
    windows: windowsOf(holding, forecast, lamps.zone), catch: best, nothingToSave: best === null,
    nights: forecast.nights.filter((row) => row.night >= tonight).slice(0, STRIP_NIGHTS),
    moved: movedWords(holding, lamps, now), rough: forecast.rough, forecastNote: null,
    age: ageWords(forecast, now, offline), behind: looksNotCounted(holding), verdict: provisionalWords(holding, lamps),
    nextLook: nextLookWords(forecast, lamps, now), conflict: conflictWords(holding, lamps.zone, now),
  };
}

function forecastPart(holding: Holding, now: Date, offline: boolean): Partial<CardView> {
  const forecast = holding.forecast;
  if (!forecast) return emptyForecast(texts.tonight.noForecast);
  if (forecast.error) return emptyForecast(texts.tonight.badForecast(forecast.error));
  const chances = chancesNow(forecast, now);
  return chances ? shownForecast(holding, forecast, chances, now, offline) : emptyForecast(texts.tonight.tooOld);
}

/** Whose hours the card shows, where they are not plainly those of the household: of another place, or of this device. */
function hoursOf(zone: string | null, shown: string, now: Date): string | null {
  if (zone !== null && zone !== shown) return texts.tonight.hoursHere(zone);
  const place = placeOf(shown, now);
  return place === null ? null : texts.tonight.hours(place);
}

/** The card of one holding male. */
export function cardView(holding: Holding, now: Date, offline: boolean): CardView {
  const lamps = lampsOf(holding.tank);
  const part = forecastPart(holding, now, offline);
  const chances = part.chances ?? null;
  return {
    brood: holding.brood.id, way: holding.way, words: holding.words,
    name: textOf(holding.fish, 'name') ?? texts.tonight.duty.somebody,
    where: texts.tonight.where(textOf(holding.tank, 'name') ?? '', textOf(holding.fish, 'spot') ?? ''),
    hours: hoursOf(textOf(holding.tank, 'zone'), lamps.zone, now), zone: lamps.zone, tonight: nightOf(lamps, now), lit: areLampsLit(lamps, now),
    fasts: holding.way !== NEST, fastDays: daysFasting(holding, now), dark: wantsDarkness(holding, now),
    lastLook: lastLookWords(holding, lamps.zone, now),
    mayBeLost: chances !== null && chances.lost >= LOST_FROM,
    ...part,
  } as CardView;
}

/** The last look of a male in a few words, for telling him from the others. */
export function lastSeen(holding: Holding, zone: string, now: Date): string {
  const last = holding.looks.at(-1);
  return last ? texts.look.who.last(`${dayWord(atOf(last), zone, now)} ${clockTime(atOf(last), zone)}`, lookWords(last.fields, holding.words.look.said)) : texts.look.who.none;
}
