/** Earlier values in words: what a field is called, what it held, who wrote it and on which device. */
import type { Json, Rec, Store } from '../store';
import type { Units } from '../domain/units';
import { daysIn } from '../domain/turns';
import { IN_THE_MOUTH, wayOf, type Way } from '../domain/ways';
import { history as words } from '../texts/history';
import { later } from '../texts/later';
import { momentWords, hereZone } from '../ui/dates';
import { temperatureWords, volumeWords } from '../ui/measures';
import type { People } from './derived';
import { deviceOf, writtenAt, type Writing } from './history';
import { textOf } from './holding';
import { choicesOf, labelOf, wayOf as wayOfChanging } from './mending';
import { daysWords } from './rotawords';
import { unitsOf } from './units';

/** What the words need to know of the household and of this device. */
export interface Known {
  readonly people: People | undefined;
  readonly device: string;
  readonly units: Units;
  readonly zone: string;
  readonly now: Date;
  readonly subjects: Subjects;
}
/** What other records are about, by their ids: what it is called, and of broods how the young leave their father. */
export interface Subjects {
  readonly names: ReadonlyMap<string, string>;
  readonly ways: ReadonlyMap<string, Way>;
}

/** Kinds that go by a name of their own. */
const NAMED: readonly string[] = ['tank', 'fish', 'batch', 'food'];
const TEMPERATURES: readonly string[] = ['set_point_c', 'temperature_c'];

async function subjectsOf(store: Store): Promise<Subjects> {
  const all = (kind: string): Promise<Rec[]> => store.ofKind(kind, { gone: true });
  const [tanks, fish, broods, ...more] = await Promise.all(['tank', 'fish', 'brood', 'batch', 'food'].map(all)) as [Rec[], Rec[], Rec[], Rec[], Rec[]];
  const names = new Map([...tanks, ...fish, ...more.flat()].map((one) => [one.id, textOf(one, 'name') ?? '']));
  const ways = new Map<string, Way>();
  for (const brood of broods) {
    const male = fish.find((one) => one.id === brood.fields['about']);
    names.set(brood.id, words.entry.brood(textOf(male, 'name') ?? ''));
    ways.set(brood.id, wayOf(textOf(male, 'species')));
  }
  return { names, ways };
}

/** What the words need, read from the store. */
export async function knownOf(store: Store, now: Date, zone = hereZone()): Promise<Known> {
  const [people, self, units, subjects] = await Promise.all([store.derived<People>('people', null), store.self(), unitsOf(store), subjectsOf(store)]);
  return { people, device: self?.device ?? '', units, zone, now, subjects };
}

/** The texts of broods as they speak of that record's male. */
function ofItsWay(record: Rec, { subjects }: Known): typeof later.brood {
  const brood = record.kind === 'brood' ? record.id : textOf(record, 'about');
  return later.broods[subjects.ways.get(brood ?? '') ?? IN_THE_MOUTH];
}

/** A field's name for people. */
export function fieldWords({ kind }: Rec, name: string): string {
  if (kind === 'mark' && name === 'eggs') return later.brood.happened.counts.eggs;
  return labelOf(name);
}

/** A value in words; an empty one says so. */
export function valueWords(record: Rec, name: string, value: Json, known: Known): string {
  if (value === null || value === '') return name === 'ended' ? words.underWay : words.nothing;
  if (typeof value === 'boolean') return name === 'gone' ? words.taken[`${value}`] : value ? words.yes : words.no;
  if (typeof value === 'number') return numberWords(name, value, known.units);
  if (typeof value !== 'string') return JSON.stringify(value);
  if (name === 'about' || name === 'food_id') return known.subjects.names.get(value) ?? words.another;
  if (wayOfChanging(record.kind, name) === 'instant' || name === 'at_phone') return instantWords(value, known);
  return namedValue(record, name, value, known) ?? (name === 'note' ? words.quoted(value) : value);
}

function numberWords(name: string, value: number, units: Units): string {
  if (TEMPERATURES.includes(name)) return temperatureWords(value, units);
  if (name === 'litres' || name === 'jug_litres') return volumeWords(value, units);
  return name === 'at_error_min' ? words.minutes(value) : new Intl.NumberFormat().format(value);
}

function instantWords(text: string, { zone, now }: Known): string {
  const at = new Date(text);
  return Number.isNaN(at.getTime()) ? text : momentWords(at, zone, now);
}

/** The word for one of a few values that a field is chosen from. */
function namedValue(record: Rec, name: string, value: string, known: Known): string | null {
  if (name === 'person') return personName(value, known);
  if (name === 'weekdays') return daysWords(daysIn([value])) || null;
  if (name === 'zone') return value.replaceAll('_', ' ').replaceAll('/', '/\u200b');
  return choicesOf(record.kind, name, ofItsWay(record, known))[value] ?? null;
}

function personName(id: string | null, { people }: Known): string | null {
  return people?.people.find((person) => person.id === id)?.name ?? null;
}

/** Who wrote it. */
export function whoWords({ by, name }: Writing, known: Known): string {
  return personName(by, known) ?? name ?? words.somebody;
}

/** Who wrote it, with which device, and when. */
export function byWords(writing: Writing, known: Known): string {
  const isHere = deviceOf(writing) === known.device;
  const phone = isHere ? words.thisDevice : writing.phone === null ? '' : words.onDevice(writing.phone);
  const when = writing.waiting ? words.waiting : momentWords(writtenAt(writing), known.zone, known.now);
  return words.by(whoWords(writing, known), phone, when);
}

/** An entry in words: what it is of, or when it was. */
export function entryTitle(record: Rec, known: Known): string {
  const at = textOf(record, 'at');
  const when = at === null ? '' : instantWords(at, known);
  const { entry } = words;
  if (NAMED.includes(record.kind)) return textOf(record, 'name') ?? entry.other;
  if (record.kind === 'brood') return known.subjects.names.get(record.id) ?? entry.other;
  if (record.kind === 'rota') return entry.rota(personName(textOf(record, 'person'), known) ?? words.somebody);
  if (record.kind === 'mark') return entry.mark(valueWords(record, 'what', record.fields['what'] ?? null, known), when);
  const dated = entry as unknown as Readonly<Record<string, ((when: string) => string) | string>>;
  const titled = dated[record.kind];
  return typeof titled === 'function' ? titled(when) : entry.other;
}

/** What an entry is of, where that is not said by its own name: a male's brood, a tank. */
export function subjectWords(record: Rec, { subjects }: Known): string | null {
  const isNamed = ['tank', 'fish', 'brood', 'food'].includes(record.kind);
  return isNamed ? null : (subjects.names.get(textOf(record, 'about') ?? '') ?? null);
}
