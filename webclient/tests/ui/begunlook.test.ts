/** A half-filled look outlives the page, and is used again only where that is meant. */
import { afterEach, beforeEach, expect, test } from 'vitest';
import { begunLook, dropBegun, goneOnWith, isBegun, isOnlyOffered, keepBegun } from '../../src/pages/begunlook';
import { EMPTY, readingFields, type Draft } from '../../src/pages/lookdraft';
import { chooseUnit, unitsOf } from '../../src/pages/units';
import type { Store } from '../../src/store';
import { LAMPS, NOW, phoneOf } from './phone';

const DRAFT: Draft = { ...EMPTY, about: 'quill', light: 'red', seen: { mouth: 'full', tails: 'perhaps' }, temperature: 26.111, note: 'hollow?' };
const after = (minutes: number): Date => new Date(NOW.getTime() + minutes * 60_000);
let store: Store;
beforeEach(async () => {
  store = await phoneOf('keeper');
});
afterEach(() => store.close());

test('it comes back as it was left, and is gone once it was saved or begun anew', async () => {
  expect(await begunLook(store)).toBeNull();
  const dated: Draft = { ...DRAFT, when: 'other', other: after(-90) };
  await keepBegun(store, dated, NOW);
  expect(await begunLook(store)).toEqual({ draft: dated, at: NOW });
  await dropBegun(store);
  expect(await begunLook(store)).toBeNull();
});

test('nothing is kept of a look of which nothing was said, not even which male', async () => {
  expect([isBegun(EMPTY), isBegun({ ...EMPTY, about: 'quill' }), isBegun({ ...EMPTY, light: 'torch' }), isBegun({ ...EMPTY, note: ' x' })]).toEqual([false, false, true, true]);
  await keepBegun(store, DRAFT, NOW);
  await keepBegun(store, { ...EMPTY, about: 'quill' }, NOW);
  expect(await begunLook(store)).toBeNull();
});

test('no other page is told of it while it changes', async () => {
  const told: string[] = [];
  store.onChange(({ kinds }) => told.push(...kinds));
  await keepBegun(store, DRAFT, NOW);
  expect(told).toEqual([]);
});

test('it is only offered once it is three hours old, or when another male is to be looked at', () => {
  const begun = { draft: DRAFT, at: NOW };
  expect([after(179), after(181)].map((now) => isOnlyOffered(begun, null, now))).toEqual([false, true]);
  expect(['quill', 'comma'].map((about) => isOnlyOffered(begun, about, after(1)))).toEqual([false, true]);
  expect(isOnlyOffered({ ...begun, draft: { ...DRAFT, about: null } }, 'comma', after(1))).toBe(false);
});

test('what was seen *now* stays at the time it was seen when it is gone on with later', () => {
  expect(goneOnWith({ draft: DRAFT, at: NOW }, after(5))).toEqual(DRAFT);
  expect(goneOnWith({ draft: DRAFT, at: NOW }, after(40))).toEqual({ ...DRAFT, when: 'other', other: NOW });
  const evening: Draft = { ...DRAFT, when: 'evening' };
  expect(goneOnWith({ draft: evening, at: NOW }, after(40))).toEqual(evening);
});

test('its temperature becomes a reading of the tank at the same time', () => {
  expect(readingFields({ ...DRAFT, temperature: null }, 'tank', LAMPS, NOW)).toBeNull();
  expect(readingFields(DRAFT, 'tank', LAMPS, NOW)).toEqual({ about: 'tank', at: NOW.toISOString(), at_error_min: 0, temperature_c: 26.111, source: 'typed' });
});

test('the phone that is cleared keeps nothing of it', async () => {
  await keepBegun(store, DRAFT, NOW);
  await store.clearPhone();
  expect(await begunLook(store)).toBeNull();
});

test('units are °C and litres until somebody chooses, each by itself', async () => {
  expect(await unitsOf(store)).toEqual({ temperature: 'C', volume: 'L' });
  await chooseUnit(store, { temperature: 'F' });
  expect(await unitsOf(store)).toEqual({ temperature: 'F', volume: 'L' });
});
