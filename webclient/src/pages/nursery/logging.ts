/** Writing down what was done for a batch, putting it right, and opening and ending batches; each can be taken back. */
import { dateIn } from '../../domain/nights';
import type { Fields, Rec, Store } from '../../store';
import { nursery as texts } from '../../texts/en/nursery';
import { dayShort } from '../../ui/dates';
import type { TakeBack } from '../acts.svelte';
import { catchesOf, endedAt, numberOf, textOf, type Holding } from '../holding';
import { added, editBack, takeAway } from '../writes';
import { fieldsIn, kindOf, type Form, type Typed } from './entries';
import type { House } from './house';

/** When something was, as its record says it. */
export interface Instant { readonly at: Date; readonly errorMin: number }

function dated(about: string | null, { at, errorMin }: Instant): Fields {
  return { about, at: at.toISOString(), at_error_min: errorMin };
}

/** A meal just given. Where nobody looked at their bellies it says that they were fed, for an emptied record says nothing. */
export function addMeal(store: Store, batch: Rec, belly: string | null, when: Instant): Promise<TakeBack> {
  const said: Fields = belly === null ? { took: 'ate' } : { belly };
  const portion = textOf(batch, 'portion');
  return added(store, 'feeding', { ...dated(batch.id, when), ...said, ...(portion ? { food: portion } : {}) });
}

/** Something else that was done for them or seen of them. */
export function addLogged(store: Store, batch: Rec, form: Form, typed: Typed, when: Instant, house: Pick<House, 'units' | 'foods'>, isAsIon: boolean): Promise<TakeBack> {
  return form === 'feeding' ? addMeal(store, batch, typed['belly'] || null, when) : addSaid(store, batch.id, form, typed, when, house, isAsIon);
}

/** What a form says, of a batch or a brood, or of a hatch for nobody in particular. */
export function addSaid(store: Store, about: string | null, form: Form, typed: Typed, when: Instant, { units, foods }: Pick<House, 'units' | 'foods'>, isAsIon: boolean): Promise<TakeBack> {
  const said = Object.entries(fieldsIn(form, typed, units, isAsIon)).filter(([, value]) => value !== null);
  return added(store, kindOf(form), { ...dated(about, when), ...Object.fromEntries(said), ...sortOf(form, typed, foods) });
}

/** Of a culture what it is, by its tin: without that it would be taken for brine shrimp. */
function sortOf(form: Form, typed: Typed, foods: readonly Rec[]): Fields {
  const tin = form === 'culture' ? foods.find((food) => food.id === typed['food_id']) : undefined;
  return tin ? { sort: textOf(tin, 'sort') } : {};
}

/** What a corrected entry is to say; a meal whose bellies nobody saw stays a meal. */
export function correctedFields(form: Form, record: Rec, typed: Typed, { units, foods }: Pick<House, 'units' | 'foods'>, isAsIon: boolean): Fields {
  const said = { ...fieldsIn(form, typed, units, isAsIon, record.fields), ...sortOf(form, typed, foods) };
  return form === 'feeding' && said['belly'] === null ? { ...said, took: 'ate' } : said;
}

/** What a form begins with: a count about where the last one stood, the tin that is in use. */
export function startOf(form: Form, alive: number | null, foods: readonly Rec[], belly = ''): Typed {
  // As on the server: of several tins the one opened last.
  const brine = foods.findLast((food) => textOf(food, 'sort') === 'brine_shrimp');
  const starts: Readonly<Partial<Record<Form, Typed>>> = {
    count: { alive: alive === null ? '' : String(alive), how: 'about' }, dead: { dead: '1' }, culture: { food_id: brine?.id ?? foods[0]?.id ?? '' }, feeding: { belly },
  };
  return starts[form] ?? {};
}

/** What a batch begins with, from the brood that it came of. */
export function startOfBatch(holding: Holding | undefined, zone: string, now: Date): { name: string; alive: number | null; since: Date } {
  const caught = holding ? catchesOf(holding.marks)[0] : undefined;
  const young = caught ? (numberOf(caught, 'yolk') ?? 0) + (numberOf(caught, 'free') ?? 0) : null;
  const name = textOf(holding?.fish, 'name');
  const since = (holding && endedAt(holding)) ?? now;
  return { name: name ? texts.batch.startName(name, dayShort(dateIn(zone, since))) : '', alive: numberOf(holding?.brood, 'kept') ?? young, since };
}

/** Open a batch; what comes back also says which one it is. */
export async function openBatch(store: Store, fields: Fields): Promise<{ id: string; takeBack: TakeBack }> {
  const batch = await store.add('batch', { ...fields, ended: null });
  return { id: batch.id, takeBack: () => takeAway(store, batch) };
}

/** Say how a batch ended, or that it has not. */
export function endBatch(store: Store, batch: Rec, how: string | null, at: Date | null): Promise<TakeBack> {
  return editBack(store, batch, { ended: how, ended_at: at?.toISOString() ?? null });
}
