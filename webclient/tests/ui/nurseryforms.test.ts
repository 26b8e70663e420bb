/** What the nursery's forms write: what was changed in them since they were opened, and nothing over what another wrote meanwhile. */
import { describe, expect, it } from 'vitest';
import { METRIC } from '../../src/domain/units';
import { amountWords } from '../../src/pages/amounts';
import { batchFields, draftOf, startOfNext } from '../../src/pages/nursery/batchdraft';
import { batchChanges, foodChanges, loggedChanges, numbersAsked } from '../../src/pages/nursery/changed';
import { typedOf } from '../../src/pages/nursery/entries';
import { foodDraft } from '../../src/pages/nursery/fooddraft';
import { ageOf, youngOf } from '../../src/pages/nursery/young';
import { editBack } from '../../src/pages/writes';
import type { Rec, Store } from '../../src/store';
import { NOW, phoneOf } from './phone';

const US = { temperature: 'F', volume: 'gal' } as const;
const AT = '2026-11-22T20:00:00.000Z';
const HOUSE = { units: METRIC, foods: [] };
const again = async (store: Store, { id }: Rec): Promise<Rec> => (await store.get(id)) as Rec;

describe('a correction of the log', () => {
  it('does not write over what another wrote while it was open', async () => {
    const store = await phoneOf('keeper');
    const opened = await store.add('water_test', { about: 'cube', at: AT, ammonia_mg_l: 0.2, ph: 8 });
    const typed = { ...typedOf('water_test', opened.fields, METRIC), ph: '8.1' };
    await store.edit(opened.id, { ammonia_mg_l: 0.4, temperature_c: 26 });
    await editBack(store, opened, loggedChanges('water_test', opened, typed, HOUSE));
    expect((await again(store, opened)).fields).toMatchObject({ ammonia_mg_l: 0.4, temperature_c: 26, ph: 8.1 });
    await store.close();
  });

  it('takes measured values as they are kept, in nitrogen', async () => {
    const store = await phoneOf('keeper');
    const test = await store.add('water_test', { about: 'cube', at: AT, ammonia_mg_l: 0.7765 });
    expect(loggedChanges('water_test', test, { ...typedOf('water_test', test.fields, METRIC), ammonia_mg_l: '1' }, HOUSE)).toEqual({ ammonia_mg_l: 1 });
    await store.close();
  });

  it('leaves the sort of a hatch alone where its tin was not chosen anew, and a meal a meal', async () => {
    const store = await phoneOf('keeper');
    const tin = await store.add('food', { name: 'Red tin', sort: 'rotifers' });
    const hatch = await store.add('culture', { about: 'cube', at: AT, food_id: tin.id, sort: 'brine_shrimp', grams: 1 });
    const typed = { ...typedOf('culture', hatch.fields, METRIC), grams: '2' };
    expect(loggedChanges('culture', hatch, typed, { units: METRIC, foods: [tin] })).toEqual({ grams: 2 });
    const meal = await store.add('feeding', { about: 'cube', at: AT, belly: 'full' });
    expect(loggedChanges('feeding', meal, { belly: '' }, HOUSE)).toEqual({ belly: null, took: 'ate' });
    await store.close();
  });
});

describe('a batch that is changed', () => {
  it('is written only where its form was changed', async () => {
    const store = await phoneOf('keeper');
    const opened = await store.add('batch', { name: 'Cube A', at: AT, alive: 40, how: 'about', spot: 'shelf', litres: 20 });
    const draft = { ...draftOf(opened, US), spot: 'window' };
    await store.edit(opened.id, { alive: 38, meals_a_day: 5 });
    const back = await editBack(store, opened, batchChanges(draft, opened, US));
    expect((await again(store, opened)).fields).toMatchObject({ spot: 'window', alive: 38, meals_a_day: 5, litres: 20 });
    await back();
    expect((await again(store, opened)).fields).toMatchObject({ spot: 'shelf', alive: 38, meals_a_day: 5 });
    await store.close();
  });

  it('is not made sure of a number nobody was sure of, nor given meals nobody named', async () => {
    const store = await phoneOf('keeper');
    const opened = await store.add('batch', { name: 'Cube A', at: AT, alive: 40 });
    const draft = draftOf(opened, METRIC);
    expect([draft.how, batchChanges(draft, opened, METRIC)]).toEqual(['', {}]);
    expect(batchChanges({ ...draft, name: 'Cube B', alive: 39 }, opened, METRIC)).toEqual({ name: 'Cube B', alive: 39 });
    expect(batchChanges({ ...draft, how: 'at_least' }, opened, METRIC)).toEqual({ how: 'at_least' });
    await store.close();
  });

  it('that is the second of one brood begins without a number', () => {
    const start = { name: 'Quill', alive: 34, since: NOW };
    expect([startOfNext(start, false).alive, startOfNext(start, true).alive]).toEqual([34, null]);
    expect(batchFields(draftOf(undefined, METRIC, startOfNext(start, true)), METRIC)).toMatchObject({ name: 'Quill', alive: null, how: null });
  });

  it('is as old as it is in its vessel where the server only reckons from then', async () => {
    const store = await phoneOf('keeper');
    const young = await youngOf(store, await store.add('batch', { name: 'Cube A', at: AT }));
    const told = (hatched_at: string) => ({ alive: null, hatched_at, first_meal_at: null, free_ammonia_mg_l: null, tested_at: null, assumed: [] });
    expect(ageOf({ ...young, told: told('2026-11-22T20:00:00Z') }, NOW)).toEqual({ days: 3, isSinceHatch: false });
    expect(ageOf({ ...young, told: told('2026-11-20T12:00:00Z') }, NOW)).toEqual({ days: 5, isSinceHatch: true });
    await store.close();
  });
});

describe('a tin that is changed', () => {
  it('is written only where its form was changed', async () => {
    const store = await phoneOf('keeper');
    const opened = await store.add('food', { name: 'Red tin', nauplii_per_gram: 120_000, measure: 'spoon' });
    const draft = { ...foodDraft(opened), measure: 'blue spoon' };
    await store.edit(opened.id, { nauplii_per_gram: 90_000 });
    await editBack(store, opened, foodChanges(draft, opened));
    expect((await again(store, opened)).fields).toMatchObject({ nauplii_per_gram: 90_000, measure: 'blue spoon' });
    expect(foodChanges(foodDraft(opened), opened)).toEqual({});
    await store.close();
  });

  it('is judged and kept by what is asked of its sort alone', async () => {
    const store = await phoneOf('keeper');
    const opened = await store.add('food', { name: 'Red tin', sort: 'brine_shrimp', hours_to_hatch: 24 });
    const draft = { ...foodDraft(opened), sort: 'frozen', hours_to_hatch: 'a day', measure_grams: '0,6' };
    expect([numbersAsked('frozen'), numbersAsked('brine_shrimp').length]).toEqual([['measure_grams'], 4]);
    expect(foodChanges(draft, opened)).toEqual({ sort: 'frozen', measure_grams: 0.6 });
    expect(foodChanges({ ...draft, name: 'Cubes' }, undefined)).toMatchObject({ name: 'Cubes', sort: 'frozen', hours_to_hatch: null, measure_grams: 0.6 });
    await store.close();
  });
});

describe('less than a gallon', () => {
  it('is said to the hundredth', () => {
    const said = (quantity: number) => amountWords({ quantity, unit: 'L', measures: null, measure: null }, US);
    expect([said(1), said(3.78), said(20)]).toEqual(['0.26 gal', '1 gal', '5.3 gal']);
  });
});
