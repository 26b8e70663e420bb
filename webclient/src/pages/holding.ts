/** A holding male with all that this phone knows of him: his brood, tank, looks, marks, forecast and duties. */
import type { Rec, Store } from '../store';
import { wayOf, type Way } from '../domain/ways';
import { wordsOf, type Words } from '../texts/ways';
import type { Duty, Forecast } from './derived';

export interface Holding {
  readonly brood: Rec;
  readonly fish: Rec | undefined;
  readonly tank: Rec | undefined;
  readonly looks: readonly Rec[];
  readonly feedings: readonly Rec[];
  readonly marks: readonly Rec[];
  readonly forecast: Forecast | undefined;
  readonly duties: readonly Duty[];
  /** How his young will leave him, and the words for such a male. */
  readonly way: Way;
  readonly words: Words;
}

export type Ending = 'caught' | 'released' | 'lost' | 'mistake';

/** A field that is text, or nothing. */
export function textOf(record: Rec | undefined, field: string): string | null {
  const value = record?.fields[field];
  return typeof value === 'string' && value !== '' ? value : null;
}

/** A field that is a number, or nothing. */
export function numberOf(record: Rec | undefined, field: string): number | null {
  const value = record?.fields[field];
  return typeof value === 'number' ? value : null;
}

/** When a record happened. */
export function atOf(record: Rec): Date {
  return new Date(textOf(record, 'at') ?? 0);
}

/** The catches that people marked, the first first; that one ended the brood, as on the server. */
export function catchesOf(marks: readonly Rec[]): Rec[] {
  return marks.filter((mark) => mark.fields['what'] === 'caught' && mark.fields['gone'] !== true);
}

/** A brood is under way while nothing has ended it and the male was not caught. */
export function isUnderWay(brood: Rec, marks: readonly Rec[]): boolean {
  return textOf(brood, 'ended') === null && brood.fields['gone'] !== true && catchesOf(marks).length === 0;
}

/** When a brood was over, by the catch or by what was said; nothing while it is under way. */
export function endedAt({ brood, marks }: Holding): Date | null {
  const [caught] = catchesOf(marks);
  const said = textOf(brood, 'ended_at');
  return caught ? atOf(caught) : said ? new Date(said) : null;
}

/** How it ended; nothing while it is under way. A catch counts before what was said besides, as on the server. */
export function endingOf({ brood, marks }: Holding): Ending | null {
  if (isUnderWay(brood, marks)) return null;
  return catchesOf(marks).length > 0 ? 'caught' : ((textOf(brood, 'ended') ?? 'mistake') as Ending);
}

async function found(store: Store, id: string | null): Promise<Rec | undefined> {
  return id === null ? undefined : store.get(id);
}

const SAYING = ['mouth', 'eggs', 'tails', 'food', 'loose_fry', 'clutch', 'note'];

/** A look that was emptied says nothing and is not shown. */
export function saysSomething(look: Rec): boolean {
  return SAYING.some((part) => textOf(look, part) !== null);
}

/** What came down, if it says anything: a brood that was over before it was ever worked out has no steps. */
export function forecastIn(body: Partial<Forecast> | undefined): Forecast | undefined {
  return body?.spawned || body?.error ? (body as Forecast) : undefined;
}

/** All that is known of one brood. */
export async function holdingOf(store: Store, brood: Rec): Promise<Holding> {
  const fish = await found(store, textOf(brood, 'about'));
  const [tank, looks, marks, own, ofFish, forecast, duties] = await Promise.all([
    found(store, textOf(fish, 'about')),
    store.about(brood.id, 'look'),
    store.about(brood.id, 'mark'),
    store.about(brood.id, 'feeding'),
    fish ? store.about(fish.id, 'feeding') : [],
    store.derived<Forecast>('forecast', brood.id),
    store.derived<{ duties: Duty[] }>('duties', brood.id),
  ]);
  const way = wayOf(textOf(fish, 'species'), forecast?.way);
  const words = await wordsOf(way);
  return { brood, fish, tank, looks: looks.filter(saysSomething), marks, feedings: [...own, ...ofFish], forecast: forecastIn(forecast), duties: duties?.duties ?? [], way, words };
}

function byPlace(a: Holding, b: Holding): number {
  return placeOf(a).localeCompare(placeOf(b));
}

function placeOf(holding: Holding): string {
  return `${textOf(holding.tank, 'name') ?? ''} ${textOf(holding.fish, 'spot') ?? ''} ${textOf(holding.fish, 'name') ?? ''}`;
}

/** Every male that holds now, in the order of tanks and spots. */
export async function holdings(store: Store): Promise<Holding[]> {
  // Most broods ended long ago: their looks need not be read to know it.
  const broods = (await store.ofKind('brood')).filter((brood) => textOf(brood, 'ended') === null);
  const all = await Promise.all(broods.map((brood) => holdingOf(store, brood)));
  return all.filter((one) => isUnderWay(one.brood, one.marks)).sort(byPlace);
}

/** When he last ate, by what is logged here and what the server knew. */
export function lastAte(holding: Holding): Date | null {
  const looks = holding.looks.filter((look) => look.fields['food'] === 'ate');
  const meals = holding.feedings.filter((meal) => meal.fields['took'] === 'ate');
  const known = [...looks, ...meals].map((record) => atOf(record).getTime());
  if (holding.forecast?.last_ate) known.push(Date.parse(holding.forecast.last_ate));
  return known.length > 0 ? new Date(Math.max(...known)) : null;
}

/** How many looks the forecast has not seen yet. */
export function looksNotCounted(holding: Holding): number {
  const issued = holding.forecast ? Date.parse(holding.forecast.issued_at) : Infinity;
  return holding.looks.filter((look) => look.waiting || atOf(look).getTime() > issued).length;
}
