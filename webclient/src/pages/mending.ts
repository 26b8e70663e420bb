/** Mending a refused entry: its values as text that a person can change, and back into values. */
import type { Fields, Json } from '../store';
import { texts } from '../texts';
import { later } from '../texts/later';
import { momentWords } from '../ui/dates';

const INSTANTS: readonly string[] = ['at', 'ended_at', 'not_before', 'not_after'];
/** What the client sets by itself, and nobody mends by hand. */
const UNSHOWN: readonly string[] = ['about', 'at_phone', 'source', 'duty'];
const CHOSEN: readonly string[] = ['light', 'mouth', 'eggs', 'tails', 'loose_fry', 'food'];
const MINUTE_MS = 60_000;
const INSTANT = /\d{4}-\d\d-\d\dT[\d:.]+(?:Z|[+-]\d\d:\d\d)/g;

/** How a value is changed: by typing, by choosing one of some, or as a day and an hour of this phone. */
export type Way = 'text' | 'choice' | 'instant';

/** The way in which a field is changed. */
export function wayOf(name: string): Way {
  if (CHOSEN.includes(name)) return 'choice';
  return INSTANTS.includes(name) ? 'instant' : 'text';
}

/** A field's name for people. */
export function labelOf(name: string): string {
  const known = later.household.attention.fields as Readonly<Record<string, string>>;
  return known[name] ?? name.replaceAll('_', ' ');
}

/** The values that a field is chosen from, each with its word. */
export function choicesOf(name: string): [value: string, word: string][] {
  const asked = texts.look as unknown as Readonly<Record<string, { names: Readonly<Record<string, string>> }>>;
  return Object.entries(asked[name]?.names ?? {});
}

/** The server's reason, with fields and instants as people name them. */
export function reasonWords(reason: string, zone: string, now: Date): string {
  const dated = reason.replace(INSTANT, (at) => momentWords(new Date(at), zone, now));
  return dated.replace(/(^|; )([a-z_]+): /g, (_, before: string, name: string) => `${before}${labelOf(name)}: `);
}

function isPlain(value: Json): value is string | number {
  return typeof value === 'string' || typeof value === 'number';
}

function textOf(name: string, value: string | number): string {
  const at = wayOf(name) === 'instant' ? new Date(value) : null;
  if (at === null || Number.isNaN(at.getTime())) return String(value);
  return new Date(at.getTime() - at.getTimezoneOffset() * MINUTE_MS).toISOString().slice(0, 16);
}

/** The values that can be mended by typing, as text. */
export function mendable(fields: Fields): Record<string, string> {
  const plain = Object.entries(fields).filter((pair): pair is [string, string | number] => isPlain(pair[1]) && !UNSHOWN.includes(pair[0]));
  return Object.fromEntries(plain.map(([name, value]) => [name, textOf(name, value)]));
}

function valueOf(name: string, before: Json | undefined, text: string): Json {
  // What nobody touched stays to the millisecond what it was.
  if (before !== undefined && isPlain(before) && textOf(name, before) === text) return before;
  if (wayOf(name) === 'instant' && !Number.isNaN(Date.parse(text))) return new Date(text).toISOString();
  const number = Number(text);
  return typeof before === 'number' && text.trim() !== '' && Number.isFinite(number) ? number : text;
}

/** What was typed, in the type that each value had; a number that is none stays the text it is. */
export function mended(fields: Fields, typed: Readonly<Record<string, string>>): Fields {
  return Object.fromEntries(Object.entries(typed).map(([name, text]) => [name, valueOf(name, fields[name], text)]));
}
