/** Batches on the phone: opened, logged, corrected and ended without a connection, and their duties as Tonight shows them. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { countDue } from '../../src/badge';
import { METRIC } from '../../src/domain/units';
import { takeOut } from '../../src/pages/correcting';
import type { Duty, DutyKind } from '../../src/pages/derived';
import { dutiesTonight, dutyView, eveningOf, glance } from '../../src/pages/evening';
import { endBrood } from '../../src/pages/happening';
import { batchFields, draftOf } from '../../src/pages/nursery/batchdraft';
import { fieldsIn, isSayable, typedOf, wrongIn } from '../../src/pages/nursery/entries';
import { foodDraft, foodFields, foodWords, numberWrong, readyAt } from '../../src/pages/nursery/fooddraft';
import { addLogged, addMeal, correctedFields, endBatch, openBatch, startOf, startOfBatch } from '../../src/pages/nursery/logging';
import { loggedWords } from '../../src/pages/nursery/logwords';
import { batchOf, broodsOf, hatchFor, withoutBatch } from '../../src/pages/nursery/subjects';
import { ageOf, aliveOf, dutiesOf, isRunning, ownDuties, shownAt, youngOf } from '../../src/pages/nursery/young';
import { turned, turningOf } from '../../src/pages/turning';
import { editBack } from '../../src/pages/writes';
import type { Rec, Store } from '../../src/store';
import { duties as words } from '../../src/texts/en/duties';
import { nurseryKinds } from '../../src/texts/en/nursery';
import { amountWords } from '../../src/pages/amounts';
import { dayShort, hourWords } from '../../src/ui/dates';
import { agree, begin } from '../machine/agreement';
import { LAMPS, maleThatHolds, NOW, nowOf, phoneOf } from './phone';

const WHEN = { at: NOW, errorMin: 0 };
const US = { temperature: 'F', volume: 'gal' } as const;

async function batchIn(store: Store, more: Record<string, string | number> = {}): Promise<Rec> {
  return (await store.get((await openBatch(store, { name: 'Cube A', alive: 40, how: 'exact', at: '2026-11-22T20:00:00.000Z', ...more })).id)) as Rec;
}
const again = async (store: Store, { id }: Rec): Promise<Rec> => (await store.get(id)) as Rec;

describe('a batch', () => {
  it('begins with what the catch of its brood brought up, when that was, and its male’s name', async () => {
    const store = await phoneOf('keeper');
    const brood = await maleThatHolds(store);
    await endBrood(store, (await store.get(brood)) as Rec, 'caught', NOW, 0, { eggs: 1, yolk: 4, free: 30, kept: 0 });
    const start = startOfBatch(await nowOf(store, brood), LAMPS.zone, NOW);
    expect(start).toEqual({ name: `Quill ${dayShort('2026-11-25')}`, alive: 34, since: NOW });
    expect(startOfBatch(undefined, LAMPS.zone, NOW)).toEqual({ name: '', alive: null, since: NOW });
    await store.close();
  });

  it('is offered for a brood that was caught lately, until there is one that was no mistake', async () => {
    const store = await phoneOf('keeper');
    const brood = await maleThatHolds(store);
    const offered = async () => withoutBatch(await broodsOf(store, NOW), await store.ofKind('batch'), NOW).map((one) => one.brood.id);
    expect(await offered()).toEqual([]);
    await endBrood(store, (await store.get(brood)) as Rec, 'caught', NOW, 0, { eggs: 0, yolk: 4, free: 30, kept: 0 });
    expect(await offered()).toEqual([brood]);
    const { id, takeBack } = await openBatch(store, { about: brood, name: 'Cube A', at: NOW.toISOString() });
    expect([await offered(), batchOf(brood, await store.ofKind('batch'))?.id]).toEqual([[], id]);
    await takeBack();
    expect(await offered()).toEqual([brood]);
    await store.close();
  });

  it('is not offered where no young were kept', async () => {
    const store = await phoneOf('keeper');
    const brood = await maleThatHolds(store);
    await endBrood(store, (await store.get(brood)) as Rec, 'released', NOW, 0, { eggs: 0, yolk: 0, free: 0, kept: 0 });
    expect(withoutBatch(await broodsOf(store, NOW), [], NOW)).toEqual([]);
    await store.close();
  });

  it('says what its form says, in litres whatever was shown, and keeps to the millilitre what nobody touched', async () => {
    const store = await phoneOf('keeper');
    const batch = await batchIn(store, { litres: 20, jug: 'white jug', jug_litres: 1.25 });
    const draft = draftOf(batch, US);
    expect([draft.litres, draft.jugLitres]).toEqual(['5.283', '0.33']);
    expect(batchFields(draft, US, batch)).toMatchObject({ name: 'Cube A', spot: null, litres: 20, jug_litres: 1.25, alive: 40, how: 'exact', meals_a_day: 3 });
    expect(batchFields({ ...draft, litres: '10', alive: null }, US, batch)).toMatchObject({ litres: 37.854, alive: null, how: null });
    await store.close();
  });

  it('ends, and is opened again; taken back, it runs on', async () => {
    const store = await phoneOf('keeper');
    const batch = await batchIn(store);
    const back = await endBatch(store, batch, 'lost', NOW);
    expect((await again(store, batch)).fields).toMatchObject({ ended: 'lost', ended_at: NOW.toISOString() });
    await back();
    expect(isRunning(await again(store, batch))).toBe(true);
    await store.close();
  });

  it('that a helper takes back is one that was opened by mistake', async () => {
    const store = await phoneOf('helper');
    const { id, takeBack } = await openBatch(store, { name: 'Cube A', at: NOW.toISOString() });
    await takeBack();
    expect((await store.get(id))?.fields['ended']).toBe('mistake');
    await store.close();
  });
});

describe('what is logged of a batch', () => {
  const house = (batch: Rec, foods: readonly Rec[] = []) => ({ units: METRIC, foods, batch });

  it('is said in words, in the house’s own measure too', async () => {
    const store = await phoneOf('keeper');
    const batch = await batchIn(store, { jug: 'white jug', jug_litres: 1.5, portion: 'one level blue spoon' });
    const tin = await store.add('food', { name: 'Red tin', sort: 'brine_shrimp' });
    await addMeal(store, batch, 'half', WHEN);
    await addMeal(store, batch, null, WHEN);
    await addLogged(store, batch, 'count', { alive: '38', how: 'about' }, WHEN, { units: METRIC, foods: [tin] }, false);
    await addLogged(store, batch, 'dead', { dead: '2' }, WHEN, { units: METRIC, foods: [tin] }, false);
    await addLogged(store, batch, 'water_test', { ammonia_mg_l: '0,2', ph: '8.1', temperature_c: '26', salinity_psu: '35' }, WHEN, { units: METRIC, foods: [tin] }, false);
    await addLogged(store, batch, 'water_change', { litres: '3' }, WHEN, { units: METRIC, foods: [tin] }, false);
    await addLogged(store, batch, 'culture', { food_id: tin.id, grams: '0.9', litres: '1' }, WHEN, { units: METRIC, foods: [tin] }, false);
    const young = await youngOf(store, batch);
    expect(young.log.find((record) => record.kind === 'culture')?.fields['sort']).toBe('brine_shrimp');
    expect(young.log.map((record) => loggedWords(record, house(batch, [tin]))).sort()).toEqual([
      '2 found dead', '3 L of water changed (2 × white jug)', '38 alive, about', 'Fed', 'Fed, bellies half full', 'Red tin set going: 0.9 g in 1 L', 'Water: ammonia 0.2 mg/L N, pH 8.1, 26.0 °C, 35 psu',
    ]);
    expect(young.log.find((record) => record.kind === 'feeding')?.fields['food']).toBe('one level blue spoon');
    expect(aliveOf(young)).toMatchObject({ number: 36, how: 'about' });
    await store.close();
  });

  it('is kept as nitrogen where the kit shows the ion, and as litres and °C in any unit', () => {
    expect(fieldsIn('water_test', { ammonia_mg_l: '1', nitrite_mg_l: '1', temperature_c: '78.8' }, US, true)).toEqual({ ammonia_mg_l: 0.7765, nitrite_mg_l: 0.3045, temperature_c: 26, ph: null, salinity_psu: null });
    expect(fieldsIn('water_change', { litres: '1' }, US, false)).toEqual({ litres: 3.785 });
  });

  it('is not saved where it says nothing, or what cannot be', () => {
    expect(['', '0', '-1', '1e9', 'many'].map((alive) => isSayable('count', { alive, how: 'exact' }, METRIC))).toEqual([false, true, false, false, false]);
    expect(isSayable('water_test', { ph: '15' }, METRIC)).toBe(false);
    expect([wrongIn('ph', '15', METRIC), wrongIn('temperature_c', '200', US), wrongIn('how', 'exact', METRIC)]).toEqual(['From 0 to 14.', 'From 23 to 113.', null]);
    expect([isSayable('water_change', { litres: '0' }, METRIC), isSayable('water_change', { litres: '2' }, METRIC)]).toEqual([false, true]);
    expect([isSayable('feeding', { belly: '' }, METRIC), isSayable('culture', {}, METRIC)]).toEqual([true, false]);
  });

  it('is corrected without touching what nobody changed, and taken back', async () => {
    const store = await phoneOf('keeper');
    const batch = await batchIn(store);
    await addLogged(store, batch, 'water_test', { ammonia_mg_l: '1', temperature_c: '78.8' }, WHEN, { units: US, foods: [] }, true);
    const [test] = (await store.about(batch.id, 'water_test')) as [Rec];
    const typed = typedOf('water_test', test.fields, US);
    const back = await editBack(store, test, correctedFields('water_test', test, { ...typed, ph: '8' }, { units: US, foods: [] }, true));
    expect((await again(store, test)).fields).toMatchObject({ ammonia_mg_l: 0.7765, temperature_c: 26, ph: 8 });
    await back();
    expect((await again(store, test)).fields['ph'] ?? null).toBeNull();
    await store.close();
  });

  it('a meal stays a meal where nobody saw the bellies, and says nothing once a helper has taken it out', async () => {
    const store = await phoneOf('helper');
    const batch = await batchIn(store);
    await addMeal(store, batch, 'full', WHEN);
    const [meal] = (await store.about(batch.id, 'feeding')) as [Rec];
    expect(correctedFields('feeding', meal, { belly: '' }, { units: METRIC, foods: [] }, false)).toEqual({ belly: null, took: 'ate' });
    await takeOut(store, meal, { person: 'tove', role: 'helper' });
    expect((await youngOf(store, batch)).log).toEqual([]);
    await store.close();
  });

  it('begins with the last count, or with the tin that is in use', async () => {
    const store = await phoneOf('keeper');
    const dry = await store.add('food', { name: 'Flakes', sort: 'dry' });
    const tin = await store.add('food', { name: 'Red tin', sort: 'brine_shrimp' });
    expect([startOf('count', 36, []), startOf('culture', null, [dry, tin])]).toEqual([{ alive: '36', how: 'about' }, { food_id: tin.id }]);
    expect(startOf('count', null, [])).toEqual({ alive: '', how: 'about' });
    const newer = await store.add('food', { name: 'Blue tin', sort: 'brine_shrimp' });
    expect(startOf('culture', null, [tin, newer])).toEqual({ food_id: newer.id });
    await store.close();
  });
});

describe('a tin', () => {
  it('is said in words, and says when nine in ten of a hatch have hatched', async () => {
    const store = await phoneOf('keeper');
    const fields = foodFields({ ...foodDraft(undefined), name: ' Red tin ', nauplii_per_gram: '120000', hours_to_hatch: '24', measure: 'level blue spoon', measure_grams: '0,6' });
    const tin = await store.add('food', fields);
    expect(foodWords(tin)).toEqual(['Brine shrimp', '120,000 nauplii a gram', 'hatched in 24 h', 'level blue spoon: 0.6 g']);
    expect(foodFields(foodDraft(tin))).toEqual(fields);
    const hatch = await store.add('culture', { food_id: tin.id, at: NOW.toISOString() });
    expect(readyAt(hatch, [tin])?.getTime()).toBe(NOW.getTime() + 24 * 3_600_000);
    expect(readyAt(hatch, [])).toBeNull();
    expect(['120,000', '120.000', '120 000', '95', '1.5'].map((typed) => foodFields({ ...foodDraft(tin), nauplii_per_gram: typed })['nauplii_per_gram'])).toEqual([120000, 120000, 120000, 95, 1.5]);
    expect([numberWrong('measure_grams', '-1'), numberWrong('hours_to_hatch', 'a day'), numberWrong('hours_to_hatch', '')].map((wrong) => wrong.length)).toEqual([1, 1, 0]);
    await store.close();
  });

  it('is set going for a batch, or for young that are still held', async () => {
    const store = await phoneOf('keeper');
    const brood = await maleThatHolds(store);
    const batch = await batchIn(store);
    expect(hatchFor(await store.ofKind('batch'), await broodsOf(store, NOW))).toEqual([[batch.id, 'Cube A'], [brood, 'young of Quill']]);
    await store.close();
  });
});

const HOUR = 3_600_000;
function duty(kind: DutyKind, hours: number, more: Partial<Duty> = {}): Duty {
  const due = new Date(NOW.getTime() + hours * HOUR);
  return { key: `${kind}:${hours}`, kind, brood: 'batch', night: '2026-11-25', due_at: due.toISOString(), until_at: new Date(due.getTime() + 3 * HOUR).toISOString(), taken_by: null, done_at: null, ...more };
}

describe('the duties of a batch', () => {
  /** A phone that the server has sent a plan for the batch. */
  async function planned(made: (batch: string) => Duty[]): Promise<{ store: Store; batch: Rec }> {
    const { world, server, phone } = await begin();
    const batch = await batchIn(phone.store);
    await agree(world, server, phone);
    server.derived.push({ kind: 'duties', about: batch.id, revision: 1000, body: { duties: made(batch.id) } as unknown as (typeof server.derived)[number]['body'] });
    await agree(world, server, phone);
    return { store: phone.store, batch: await again(phone.store, batch) };
  }

  it('have words for each kind that the server plans', () => {
    const source = readFileSync(new URL('../../../server/holdwatch/domain/duties/duty.py', import.meta.url), 'utf8');
    const own = /OF_A_NURSERY: [^=]* = frozenset\(\s*\{(.*?)\}/s.exec(source)?.[1]?.match(/\w+/g) ?? [];
    expect(own.length).toBeGreaterThan(3);
    expect(Object.keys(nurseryKinds).sort()).toEqual([...own].sort());
    expect(words.how['first_food']?.text).toBeTruthy();
  });

  it('stand on Tonight for the young, with how much; of meals the past ones and the next', async () => {
    const { store, batch } = await planned((brood) => [duty('feed_fry', -1, { brood }), duty('feed_fry', 2, { brood, amount: { quantity: null, unit: null, measures: 1, measure: 'one level blue spoon' } }), duty('feed_fry', 5, { brood }), duty('change_water', 1, { brood })]);
    const evening = await eveningOf(store);
    const rows = dutiesTonight(evening, NOW);
    expect(rows.map((row) => [row.told.kind, row.told.due_at])).toEqual([-1, 1, 2].map((hours) => [hours === 1 ? 'change_water' : 'feed_fry', new Date(NOW.getTime() + hours * HOUR).toISOString()]));
    expect(rows[0]).toMatchObject({ title: 'Feed the young', male: 'for the young in Cube A', brood: batch.id });
    expect(glance([], rows, null)).toBe('3 things to do. First: feed the young');
    const row = turned(rows[2] as (typeof rows)[number], await turningOf(store));
    expect([row.amount, row.text]).toEqual(['one level blue spoon', nurseryKinds['feed_fry']?.text]);
    expect(await countDue(store, NOW)).toBe(2);
  });

  it('are done by what is logged here, before the server has heard of it', async () => {
    const { store, batch } = await planned((brood) => [duty('feed_fry', -1, { brood }), duty('feed_fry', 2, { brood })]);
    await addMeal(store, batch, 'full', WHEN);
    const rows = dutiesTonight(await eveningOf(store), NOW);
    expect(rows.map((row) => row.done)).toEqual([null, 'Done, just now']);
    expect(await countDue(store, NOW)).toBe(0);
  });

  it('stand on their own page with the undone first, and do not say whose young they are', async () => {
    const { store, batch } = await planned((brood) => [duty('feed_fry', -1, { brood, done_at: NOW.toISOString() }), duty('test_water', 1, { brood }), duty('test_water', 25, { brood })]);
    const own = ownDuties(await youngOf(store, batch), NOW, null);
    expect(own.duties.map((one) => one.kind)).toEqual(['test_water', 'feed_fry']);
    expect(dutyView(own.duties[0] as Duty, own, { people: undefined, self: null }, NOW)).toMatchObject({ male: '', time: hourWords(new Date(NOW.getTime() + HOUR), LAMPS.zone) });
  });

  it('are none once it has ended', async () => {
    const { store, batch } = await planned((brood) => [duty('feed_fry', -1, { brood })]);
    await endBatch(store, batch, 'weaned', NOW);
    expect((await eveningOf(store)).young).toEqual([]);
    expect((await youngOf(store, await again(store, batch))).duties).toEqual([]);
  });

  it('bring of each kind that is ahead the next one alone', async () => {
    const young = { duties: [duty('feed_fry', 5), duty('feed_fry', 2), duty('test_water', 3), duty('feed_fry', -2)], marks: [] };
    expect(shownAt(young, NOW).map((one) => one.key)).toEqual(['feed_fry:2', 'test_water:3', 'feed_fry:-2']);
    // What a reminder spoke of is never hidden.
    expect(shownAt(young, NOW, 'feed_fry:5')).toHaveLength(4);
  });

  it('are told with the age since they hatched, where the server knows it', async () => {
    const store = await phoneOf('keeper');
    const young = await youngOf(store, await batchIn(store));
    expect(ageOf(young, NOW)).toEqual({ days: 3, isSinceHatch: false });
    const told = { alive: null, hatched_at: '2026-11-20T12:00:00Z', first_meal_at: null, free_ammonia_mg_l: null, tested_at: null, assumed: [] };
    expect(ageOf({ ...young, told }, NOW)).toEqual({ days: 5, isSinceHatch: true });
    expect(dutiesOf(young, NOW).duties).toEqual([]);
    await store.close();
  });
});

describe('an amount', () => {
  const amount = (quantity: number | null, unit: 'g' | 'L' | null, measures: number | null, measure: string | null) => amountWords({ quantity, unit, measures, measure }, METRIC);
  it('is said in the house’s own measure first, the quantity after it', () => {
    expect(amount(0.9, 'g', 1.5, 'level blue spoon')).toBe('1.5 × level blue spoon (0.9 g)');
    expect(amount(3, 'L', 2, 'white jug')).toBe('2 × white jug (3 L)');
    expect(amount(null, null, 1, 'one level blue spoon')).toBe('one level blue spoon');
    expect(amount(null, null, null, 'one level blue spoon')).toBe('one level blue spoon');
    expect([amount(0.0042, 'g', null, null), amountWords(null, METRIC), amount(null, null, null, null)]).toEqual(['0.004 g', null, null]);
  });
});
