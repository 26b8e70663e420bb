/** A refused entry as it is shown for mending: whose it is, what he who is signed in may do, measures in his units. */
import type { Attention, Fields, Person } from '../store';
import { litresOf, shownTemperature, shownVolume, celsiusOf, type Units } from '../domain/units';
import { temperatureUnit } from '../ui/measures';
import type { People } from './derived';
import { later } from '../texts/later';
import { labelOf, mendable, mended, numberIn } from './mending';

const TEMPERATURES: readonly string[] = ['set_point_c', 'temperature_c'];
const VOLUMES: readonly string[] = ['litres', 'jug_litres'];
/** What the server takes from a keeper or the owner alone. */
const KEEPERS_KINDS: readonly string[] = ['tank', 'fish', 'trust'];

/** `send`: as the correction of the one signed in. `takeOver`: in his name. `nothing`: it would be refused again. */
export type MayDo = 'send' | 'takeOver' | 'nothing';

/** Whether the server takes that field of such a record from a person of that role. */
export function mayWrite(kind: string, name: string, role: string): boolean {
  return role !== 'helper' || !(KEEPERS_KINDS.includes(kind) || name === 'gone');
}

/** What may be done with an entry by the person who is signed in here. */
export function mayDo(entry: Attention, self: Pick<Person, 'person' | 'role'>): MayDo {
  if (!Object.keys(entry.fields).every((name) => mayWrite(entry.kind, name, self.role))) return 'nothing';
  return entry.isNew && entry.by !== self.person ? 'takeOver' : 'send';
}

/** Whose entry it is and what that means, in words; nothing of one's own that can be sent. */
export function whoseWords(entry: Attention, self: Pick<Person, 'person' | 'role'>, people: People | undefined): string | null {
  const words = later.household.attention.whose;
  const may = mayDo(entry, self);
  const name = people?.people.find((person) => person.id === entry.by)?.name ?? words.somebody;
  if (may === 'nothing') return words.keepers;
  if (entry.by === self.person) return null;
  return may === 'takeOver' ? words.takeOver(name) : words.correct(name);
}

function shownOf(name: string, value: unknown, units: Units): string | null {
  if (typeof value !== 'number') return null;
  if (TEMPERATURES.includes(name)) return String(shownTemperature(value, units.temperature));
  return VOLUMES.includes(name) ? String(shownVolume(value, units.volume)) : null;
}

/** The values that can be mended, as text in the units of this device. */
export function shownFields(kind: string, fields: Fields, units: Units): Record<string, string> {
  return Object.fromEntries(Object.entries(mendable(kind, fields)).map(([name, text]) => [name, shownOf(name, fields[name], units) ?? text]));
}

function keptText(name: string, text: string, fields: Fields, units: Units): string {
  const number = numberIn(text);
  // What nobody touched stays what it was, and what is no number is left for the server to say so.
  if (text === shownOf(name, fields[name], units)) return String(fields[name]);
  if (!Number.isFinite(number)) return text;
  if (TEMPERATURES.includes(name)) return String(celsiusOf(number, units.temperature));
  return VOLUMES.includes(name) ? String(litresOf(number, units.volume)) : text;
}

/** What was typed, in the units and types in which it is kept. */
export function meantFields(kind: string, fields: Fields, typed: Readonly<Record<string, string>>, units: Units): Fields {
  return mended(kind, fields, Object.fromEntries(Object.entries(typed).map(([name, text]) => [name, keptText(name, text, fields, units)])));
}

/** A field's name for people, with the unit in which it is asked. */
export function askedLabel(name: string, units: Units): string {
  if (TEMPERATURES.includes(name)) return `${labelOf(name)}, ${temperatureUnit(units)}`;
  return VOLUMES.includes(name) ? `${labelOf(name)}, ${units.volume}` : labelOf(name);
}
