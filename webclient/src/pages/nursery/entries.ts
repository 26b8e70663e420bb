/** What is logged of a batch, as text in the form that asks for it, and back into the record's values. Pure. */
import { asNitrogen } from '../../domain/nursery';
import { celsiusOf, litresOf, shownTemperature, shownVolume, type Units } from '../../domain/units';
import type { Fields, Rec } from '../../store';
import { nursery as texts } from '../../texts/en/nursery';
import { numberIn } from '../mending';
import type { LoggedKind } from './young';

/** The forms in which something is logged; deaths have one of their own, and are counts to the household. */
export const FORMS = ['count', 'dead', 'water_test', 'water_change', 'culture', 'feeding'] as const;
export type Form = (typeof FORMS)[number];
/** The values as they stand in a form. */
export type Typed = Readonly<Record<string, string>>;

/** What may be said in each form. */
export const ASKED: Readonly<Record<Form, readonly string[]>> = {
  count: ['alive', 'how'], dead: ['dead'], water_test: ['ammonia_mg_l', 'ph', 'temperature_c', 'salinity_psu', 'nitrite_mg_l'],
  water_change: ['litres'], culture: ['food_id', 'grams', 'litres'], feeding: ['belly'],
};
/** Names, and words to choose from; all else is a number. */
const WORDS: readonly string[] = ['how', 'belly', 'food_id', 'sort'];
/** What the household takes, by its own list of kinds. */
const RANGES: Readonly<Record<string, readonly [number, number]>> = {
  alive: [0, 1_000_000], dead: [0, 1_000_000], ammonia_mg_l: [0, 100], nitrite_mg_l: [0, 1000], ph: [0, 14], temperature_c: [-5, 45], salinity_psu: [0, 60], litres: [0, 100_000], grams: [0, 1000],
};
const IONS: Readonly<Record<string, 'ammonium' | 'nitrite'>> = { ammonia_mg_l: 'ammonium', nitrite_mg_l: 'nitrite' };

/** The kind of record that a form becomes. */
export function kindOf(form: Form): LoggedKind {
  return form === 'dead' ? 'count' : form;
}

/** The form in which a record of the log is corrected. */
export function formOf({ kind, fields }: Pick<Rec, 'kind' | 'fields'>): Form {
  return kind === 'count' && typeof fields['dead'] === 'number' ? 'dead' : (kind as Form);
}

function shown(name: string, value: number, units: Units): number {
  if (name === 'temperature_c') return shownTemperature(value, units.temperature);
  // Half a jug wants more than the tenth that volumes are shown with.
  return name === 'litres' ? shownVolume(value, units.volume, 3) : value;
}

function kept(name: string, typed: number, units: Units, isAsIon: boolean): number {
  if (name === 'temperature_c') return celsiusOf(typed, units.temperature);
  if (name === 'litres') return litresOf(typed, units.volume);
  const ion = IONS[name];
  return ion ? asNitrogen(typed, ion, isAsIon) : typed;
}

/** A record's values as the form shows them. */
export function typedOf(form: Form, fields: Fields, units: Units): Typed {
  const said = ASKED[form].map((name): [string, string] => {
    const value = fields[name];
    return [name, typeof value === 'number' ? String(shown(name, value, units)) : typeof value === 'string' ? value : ''];
  });
  return Object.fromEntries(said);
}

/** What is wrong with one value as it is typed; nothing where it may be right. */
export function wrongIn(name: string, text: string, units: Units): string | null {
  if (WORDS.includes(name) || text.trim() === '') return null;
  const [typed, range] = [numberIn(text), RANGES[name]];
  if (!Number.isFinite(typed)) return texts.form.noNumber;
  const number = kept(name, typed, units, false);
  if (!range || (number >= range[0] && number <= range[1])) return null;
  const [low, high] = range.map((end) => new Intl.NumberFormat().format(shown(name, end, units)));
  return texts.form.range(low ?? '', high ?? '');
}

/** Whether there is anything to save, and nothing wrong with it; how sure a count is says nothing without its number. */
export function isSayable(form: Form, typed: Typed, units: Units): boolean {
  const says = ASKED[form].filter((name) => name !== 'how').some((name) => (typed[name] ?? '').trim() !== '');
  // None of the water is no change of it.
  const isNone = form === 'water_change' && numberIn(typed['litres'] ?? '') === 0;
  return (says || form === 'feeding') && !isNone && ASKED[form].every((name) => wrongIn(name, typed[name] ?? '', units) === null);
}

/** The values that a form says; what nobody touched stays what `before` had. */
export function fieldsIn(form: Form, typed: Typed, units: Units, isAsIon: boolean, before: Fields = {}): Fields {
  const untouched = typedOf(form, before, units);
  return Object.fromEntries(ASKED[form].map((name) => {
    const text = (typed[name] ?? '').trim();
    if (name in before && text === untouched[name]) return [name, before[name] ?? null];
    if (text === '') return [name, null];
    return [name, WORDS.includes(name) ? text : kept(name, numberIn(text), units, isAsIon)];
  }));
}
