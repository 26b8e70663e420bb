/** What a form changes of a record: compared with the record as it was when the form was opened, for another may have written it since. Pure. */
import type { Units } from '../../domain/units';
import type { Fields, Rec } from '../../store';
import { batchFields, draftOf, type BatchDraft } from './batchdraft';
import { typedOf, type Form, type Typed } from './entries';
import { foodDraft, foodFields, isHatched, NUMBERS, type FoodDraft, type NumberName } from './fooddraft';
import type { House } from './house';
import { correctedFields } from './logging';

function changed(said: Fields, before: Fields): Fields {
  return Object.fromEntries(Object.entries(said).filter(([name, value]) => (value ?? null) !== (before[name] ?? null)));
}

/** What a correction says anew of an entry of the log; measured values are typed as they are kept. */
export function loggedChanges(form: Form, opened: Rec, typed: Typed, house: Pick<House, 'units' | 'foods'>): Fields {
  const said = (values: Typed): Fields => correctedFields(form, opened, values, house, false);
  return changed(said(typed), said(typedOf(form, opened.fields, house.units)));
}

/** What is said anew of a batch. */
export function batchChanges(draft: BatchDraft, opened: Rec, units: Units): Fields {
  return changed(batchFields(draft, units, opened), batchFields(draftOf(opened, units), units, opened));
}

/** The numbers that are asked of a food of that sort. */
export function numbersAsked(sort: string): NumberName[] {
  return isHatched(sort) ? (Object.keys(NUMBERS) as NumberName[]) : ['measure_grams'];
}

/** What is said anew of a tin, or all of a new one; what is not asked of its sort stays as it was. */
export function foodChanges(draft: FoodDraft, opened: Rec | undefined): Fields {
  const before = foodDraft(opened);
  const asked = Object.fromEntries(numbersAsked(draft.sort).map((name) => [name, draft[name]]));
  const { name, sort, measure } = draft;
  const said = foodFields({ ...before, ...asked, name, sort, measure });
  return opened ? changed(said, foodFields(before)) : said;
}
