/** Mending a refused entry: its values as text that a person can change, and back into values. */
import type { Fields, Json } from '../store';
import { texts } from '../texts';
import { later } from '../texts/later';
import { mending as words } from '../texts/mending';
import { momentWords } from '../ui/dates';
import { upperFirst } from '../ui/said';

type Named = Readonly<Record<string, string>>;
/** How a value is changed: by typing, by choosing, or as a day and an hour of this phone. */
export type Way = 'text' | 'long' | 'number' | 'choice' | 'truth' | 'instant' | 'hour' | 'zone';
/** What is wrong with an entry: by the fields it is about, and what is about none of them. */
export interface Reasons {
  readonly by: Readonly<Record<string, readonly string[]>>;
  readonly others: string | null;
}

const WAYS: Readonly<Partial<Record<Way, readonly string[]>>> = {
  instant: ['at', 'ended_at', 'not_before', 'not_after', 'since', 'until'],
  hour: ['lamps_out', 'lamps_on'],
  zone: ['zone'],
  long: ['note'],
  truth: ['gone', 'recalled', 'clock_doubtful', 'has_released_before', 'separate', 'right', 'finished'],
  number: [
    'at_error_min', 'set_point_c', 'temperature_c', 'litres', 'kept', 'yolk', 'free', 'alive', 'dead', 'meals_a_day', 'jug_litres', 'nauplii_per_gram', 'hours_to_hatch', 'hours_to_enrich', 'measure_grams',
    'grams', 'ammonia_mg_l', 'nitrite_mg_l', 'ph', 'salinity_psu',
  ],
};
/** What the client sets by itself, and nobody mends by hand. */
const UNSHOWN: readonly string[] = ['about', 'at_phone', 'source', 'duty', 'food_id', 'sha256', 'bytes', 'width', 'height'];
const OF_LOOKS: readonly string[] = ['light', 'mouth', 'eggs', 'tails', 'loose_fry', 'food', 'clutch'];
/** As long as a note may be, by the household's own schema. */
export const NOTE_LIMIT = 2000;
const MINUTE_MS = 60_000;
const INSTANT = /\d{4}-\d\d-\d\dT[\d:.]+(?:Z|[+-]\d\d:\d\d)/g;
const HOUR = /^([01]\d|2[0-3]):[0-5]\d$/;

/** The way in which a field is changed. */
export function wayOf(kind: string, name: string): Way {
  if (Object.keys(choicesOf(kind, name)).length > 0) return 'choice';
  // Of eggs a look says the colour, a mark the number.
  if (kind === 'mark' && name === 'eggs') return 'number';
  return (Object.keys(WAYS) as Way[]).find((way) => WAYS[way]?.includes(name)) ?? 'text';
}

/** A field's name for people. */
export function labelOf(name: string): string {
  const known: Named = { ...later.household.attention.fields, ...words.fields };
  return known[name] ?? upperFirst(name.replaceAll('_', ' '));
}

/** The values that a field of that kind is chosen from, each with its word; `of` are the texts of the male's way. */
export function choicesOf(kind: string, name: string, of = later.brood): Named {
  if (kind === 'look' && OF_LOOKS.includes(name)) return (texts.look as unknown as Readonly<Record<string, { names: Named }>>)[name]?.names ?? {};
  const { caught, released, lost, mistake } = of.ended;
  const { alone, others } = later.household.tanks;
  const { sorts, hows, bellies, ends } = words.nursery;
  const chosen: Readonly<Record<string, Named>> = {
    'batch ended': ends, 'batch how': hows, 'count how': hows, 'food sort': sorts, 'culture sort': sorts, 'feeding belly': bellies,
    'tank company': { alone, others }, 'fish species': later.access.start.names, 'fish sex': words.sex, 'brood ended': { caught, released, lost, mistake },
    'feeding took': texts.look.food.names, 'mark what': { ...of.happened.names, ...of.marks.names },
  };
  return chosen[`${kind} ${name}`] ?? {};
}

/** The server's reason, with fields and instants as people name them. */
export function reasonWords(reason: string, zone: string, now: Date): string {
  return reason.replace(INSTANT, (at) => momentWords(new Date(at), zone, now));
}

/** The server's reason, each part of it with the field that it is about. */
export function reasonsOf(kind: string, reason: string, fields: Fields, zone: string, now: Date): Reasons {
  const by: Record<string, string[]> = {};
  const say = (name: string, text: string): void => void (by[name] ??= []).push(sentence(kind, name, reasonWords(text, zone, now)));
  const others = reason.split('; ').filter((part, i, parts) => {
    const [, name, text] = /^([a-z_0-9]+): (.+)$/s.exec(part) ?? /^The field ([a-z_0-9]+):? (.+)$/s.exec(part) ?? [];
    const before = parts.slice(0, i).reverse().map((one) => /^([a-z_0-9]+): /.exec(one)?.[1]).find((one) => one !== undefined);
    const about = name ?? before;
    if (about !== undefined && about in fields) say(about, text ?? part);
    return about === undefined || !(about in fields);
  });
  const [, unknown] = /^An? [\w]+ has no field (.+)\.$/.exec(reason) ?? [];
  for (const name of unknown?.split(', ') ?? []) by[name] = [words.unknown];
  return { by, others: unknown || others.length === 0 ? null : reasonWords(others.join('; '), zone, now) };
}

/** A part of a reason as a sentence of its own; the values to choose from stand in the list beside it. */
function sentence(kind: string, name: string, text: string): string {
  if (text.startsWith('must be one of') && wayOf(kind, name) === 'choice') return words.choose;
  return upperFirst(text.endsWith('.') ? text : `${text}.`);
}

/** What is wrong with a value as it is typed, before anybody else is asked; nothing where it may be right. */
export function typedWrong(kind: string, name: string, text: string): string | null {
  const way = wayOf(kind, name);
  if (way === 'instant') return name === 'at' && text === '' ? words.when : null;
  if (text.trim() === '') return null;
  if (way === 'number') return Number.isFinite(numberIn(text)) ? null : words.number;
  if (way === 'choice') return text in choicesOf(kind, name) ? null : words.choose;
  if (way === 'hour') return HOUR.test(text) ? null : words.hour;
  const figures = new Intl.NumberFormat();
  return way === 'long' && text.length > NOTE_LIMIT ? words.long(figures.format(text.length), figures.format(NOTE_LIMIT)) : null;
}

/** The number that somebody typed, with a point or a comma. */
export function numberIn(text: string): number {
  return text.trim() === '' ? Number.NaN : Number(text.trim().replace(',', '.'));
}

function textOf(kind: string, name: string, value: Json): string {
  if (value === null) return '';
  const at = wayOf(kind, name) === 'instant' ? new Date(String(value)) : null;
  if (at === null || Number.isNaN(at.getTime())) return typeof value === 'object' ? JSON.stringify(value) : String(value);
  return new Date(at.getTime() - at.getTimezoneOffset() * MINUTE_MS).toISOString().slice(0, 16);
}

/** The values that can be mended, as text. */
export function mendable(kind: string, fields: Fields): Record<string, string> {
  const shown = Object.entries(fields).filter(([name, value]) => value !== null && !UNSHOWN.includes(name));
  return Object.fromEntries(shown.map(([name, value]) => [name, textOf(kind, name, value)]));
}

function valueOf(kind: string, name: string, before: Json | undefined, text: string): Json {
  // What nobody touched stays to the millisecond what it was.
  if (before !== undefined && textOf(kind, name, before) === text) return before;
  if (text.trim() === '') return null;
  const way = wayOf(kind, name);
  if (way === 'truth') return text === 'true';
  if (way === 'instant' && !Number.isNaN(Date.parse(text))) return new Date(text).toISOString();
  const number = numberIn(text);
  return (way === 'number' || typeof before === 'number') && Number.isFinite(number) ? number : text;
}

/** What was typed, in the type that each value has; a number that is none stays the text it is, an emptied one is none. */
export function mended(kind: string, fields: Fields, typed: Readonly<Record<string, string>>): Fields {
  return Object.fromEntries(Object.entries(typed).map(([name, text]) => [name, valueOf(kind, name, fields[name], text)]));
}
