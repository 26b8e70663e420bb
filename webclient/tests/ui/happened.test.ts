/** What happened to a brood: listed, corrected and taken out long after it was said. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { boundChanges, boundsOf, looksBefore, movedBound } from '../../src/pages/beginning';
import { AS_IT_WAS } from '../../src/pages/correcting';
import { entryWords } from '../../src/pages/entrywords';
import { addHappening, correctEntry, countedOf, countsOf, endBrood, entriesOf, NOTHING, recounted, reopen, takeOutEntry, whenOf, type Entry } from '../../src/pages/happening';
import { endedAt, endingOf, isUnderWay, type Holding } from '../../src/pages/holding';
import type { Store } from '../../src/store';
import { LAMPS, NOW, maleThatHolds, nowOf, phoneOf } from './phone';
import { holding, record } from './records';

const KEEPER = { person: 'tove', role: 'keeper' };
const LAST_NIGHT = new Date('2026-11-24T21:40:00.000Z');
const put = (other: Date) => ({ timing: { when: 'other' as const, other }, isRight: false });
let store: Store;
let brood = '';

const now = (): Promise<Holding> => nowOf(store, brood);
async function entry(what: string): Promise<Entry> {
  return entriesOf(await now()).find((one) => one.what === what) as Entry;
}

describe('on the phone', () => {
  beforeEach(async () => {
    store = await phoneOf('keeper');
    brood = await maleThatHolds(store);
  });
  afterEach(() => store.close());

  const say = async (what: 'spawning' | 'courtship' | 'caught' | 'released' | 'lost', at: Date, counts = NOTHING) => addHappening(store, (await now()).brood, what, at, 0, counts);

  it('a spawning that was seen is corrected in time', async () => {
    await say('spawning', NOW);
    const back = await correctEntry(store, await entry('spawning'), await now(), { time: put(LAST_NIGHT), counts: NOTHING }, LAMPS, NOW);
    expect(whenOf(await entry('spawning'))).toEqual(LAST_NIGHT);
    await back();
    expect(whenOf(await entry('spawning'))).toEqual(NOW);
  });

  it('a courtship that never was is taken out, and back in', async () => {
    await say('courtship', NOW);
    const back = await takeOutEntry(store, await entry('courtship'), await now(), KEEPER);
    expect(await entry('courtship')).toBeUndefined();
    await back();
    expect(whenOf(await entry('courtship'))).toEqual(NOW);
  });

  it('a catch is corrected with its counts, and the brood’s own word of its end follows', async () => {
    await say('caught', NOW, { eggs: 2, yolk: 9, free: 4, kept: 0 });
    const caught = await entry('caught');
    const counts = recounted(countsOf(caught, await now()), 'free', 5);
    expect(counts).toEqual({ eggs: 2, yolk: 9, free: 9, kept: 18 });
    const back = await correctEntry(store, caught, await now(), { time: put(LAST_NIGHT), counts }, LAMPS, NOW);
    expect((await entry('caught')).record.fields).toMatchObject({ at: LAST_NIGHT.toISOString(), eggs: 2, yolk: 9, free: 9 });
    expect((await now()).brood.fields).toMatchObject({ ended: 'caught', ended_at: LAST_NIGHT.toISOString(), kept: 18 });
    await back();
    expect((await now()).brood.fields).toMatchObject({ ended_at: NOW.toISOString(), kept: 13 });
  });

  it('what was kept is counted apart once it is not all of the catch', () => {
    expect(recounted({ eggs: 0, yolk: 9, free: 0, kept: 8 }, 'yolk', 1)).toEqual({ eggs: 0, yolk: 10, free: 0, kept: 8 });
    expect(recounted({ eggs: 0, yolk: 9, free: 0, kept: 9 }, 'kept', -1)).toEqual({ eggs: 0, yolk: 9, free: 0, kept: 8 });
    expect(recounted(NOTHING, 'eggs', -5)).toEqual(NOTHING);
  });

  it('counts that nobody said stay unsaid', async () => {
    await store.edit(brood, { ended: 'released', ended_at: NOW.toISOString() });
    await correctEntry(store, await entry('released'), await now(), { time: put(LAST_NIGHT), counts: NOTHING }, LAMPS, NOW);
    expect((await now()).brood.fields).toMatchObject({ ended_at: LAST_NIGHT.toISOString() });
    expect((await now()).brood.fields['kept']).toBeUndefined();
  });

  it('a release keeps its own count', async () => {
    await say('released', NOW, { ...NOTHING, kept: 7 });
    const released = await entry('released');
    expect(countedOf(released, await now())).toEqual(['kept']);
    await correctEntry(store, released, await now(), { time: AS_IT_WAS, counts: { ...NOTHING, kept: 6 } }, LAMPS, NOW);
    expect((await now()).brood.fields).toMatchObject({ kept: 6, ended_at: NOW.toISOString() });
  });

  it('a loss that was none is taken out: the brood is under way again', async () => {
    await say('lost', NOW);
    await takeOutEntry(store, await entry('lost'), await now(), KEEPER);
    const after = await now();
    expect(isUnderWay(after.brood, after.marks)).toBe(true);
  });

  it('opened again, a brood that two people ended is under way: no ending is left', async () => {
    await endBrood(store, (await now()).brood, 'caught', LAST_NIGHT, 0, { ...NOTHING, yolk: 9 });
    await endBrood(store, (await now()).brood, 'caught', NOW, 0, { ...NOTHING, yolk: 8 });
    const back = await reopen(store, await now(), KEEPER);
    const opened = await now();
    expect(isUnderWay(opened.brood, opened.marks)).toBe(true);
    expect(entriesOf(opened)).toEqual([]);
    await back();
    const again = await now();
    expect([again.marks.length, endingOf(again), again.brood.fields['kept']]).toEqual([2, 'caught', 8]);
  });

  it('of two catches one is taken out: the other one ends the brood', async () => {
    await endBrood(store, (await now()).brood, 'caught', LAST_NIGHT, 0, { ...NOTHING, yolk: 9 });
    await endBrood(store, (await now()).brood, 'caught', NOW, 0, { ...NOTHING, yolk: 8, free: 1 });
    const first = entriesOf(await now()).findLast((one) => one.what === 'caught') as Entry;
    await takeOutEntry(store, first, await now(), KEEPER);
    const left = await now();
    expect([endingOf(left), endedAt(left), left.brood.fields['ended_at'], left.brood.fields['kept']]).toEqual(['caught', NOW, NOW.toISOString(), 9]);
    await takeOutEntry(store, await entry('caught'), left, KEEPER);
    expect(endingOf(await now())).toBeNull();
  });
});

describe('a helper', () => {
  it('empties his own mark, so that it says nothing anywhere', async () => {
    store = await phoneOf('helper');
    brood = await maleThatHolds(store);
    await addHappening(store, (await now()).brood, 'caught', NOW, 0, { ...NOTHING, yolk: 3 });
    const back = await takeOutEntry(store, await entry('caught'), await now(), { person: 'tove', role: 'helper' });
    const opened = await now();
    expect([isUnderWay(opened.brood, opened.marks), entriesOf(opened)]).toEqual([true, []]);
    expect(opened.marks.filter((mark) => 'gone' in mark.fields)).toEqual([]);
    await back();
    expect((await entry('caught')).record.fields).toMatchObject({ yolk: 3 });
    await store.close();
  });
});

describe('what happened', () => {
  const mark = (what: string, at: string, more: object = {}) => record('mark', { what, at, ...more });
  it('is listed, the newest first, apart from what was said of duties', () => {
    const one = holding({
      brood: record('brood', { ended: 'released', ended_at: '2026-11-26T20:00:00.000Z', kept: 12 }),
      marks: [mark('spawning', '2026-11-06T19:00:00.000Z'), mark('done', '2026-11-24T20:00:00.000Z', { duty: 'look:b:2026-11-24' }), mark('loose_fry_handled', '2026-11-25T20:00:00.000Z')],
    });
    const fed = record('feeding', { about: one.brood.id, at: '2026-11-10T18:00:00.000Z', took: 'ignored' });
    const entries = entriesOf({ ...one, feedings: [fed] });
    expect(entries.map(({ what, isOfDuty }) => (isOfDuty ? `(${what})` : what))).toEqual(['released', 'loose_fry_handled', '(done)', 'fed', 'spawning']);
    expect(entries.map((said) => entryWords(said, one))).toEqual([
      { name: 'He let them go', counts: '12 young kept' }, { name: 'Loose young made safe', counts: null }, { name: 'Look: done', counts: null },
      { name: 'ignored food', counts: null }, { name: 'Spawning seen', counts: null },
    ]);
  });

  it('is a catch before whatever was said besides, as on the server', () => {
    const one = holding({ brood: record('brood', { ended: 'lost', ended_at: '2026-11-20T20:00:00.000Z' }), marks: [mark('caught', '2026-11-24T21:00:00.000Z')] });
    expect([endingOf(one), endedAt(one)]).toEqual(['caught', new Date('2026-11-24T21:00:00Z')]);
    expect(entriesOf(one).map(({ what }) => what)).toEqual(['caught', 'lost']);
  });
});

describe('since when he holds', () => {
  const held = record('brood', { not_before: '2026-11-03T23:00:00.000Z', not_after: '2026-11-06T23:00:00.000Z' });
  const TODAY = '2026-11-25';

  it('is shown as days of the tank', () => {
    expect(boundsOf(held, LAMPS.zone)).toEqual({ empty: '2026-11-04', full: '2026-11-06' });
    expect(boundsOf(record('brood', {}), LAMPS.zone)).toEqual({ empty: null, full: null });
  });

  it('is corrected by days, each in order and none past today', () => {
    const bounds = { empty: '2026-11-04', full: '2026-11-06' };
    expect(movedBound(bounds, 'full', -3, TODAY)).toEqual({ empty: '2026-11-03', full: '2026-11-03' });
    expect(movedBound(bounds, 'empty', 5, TODAY)).toEqual({ empty: '2026-11-06', full: '2026-11-06' });
    expect(movedBound({ empty: null, full: TODAY }, 'full', 1, TODAY)).toEqual({ empty: null, full: TODAY });
    expect(movedBound({ empty: null, full: '2026-11-06' }, 'empty', -1, TODAY)).toEqual({ empty: '2026-11-05', full: '2026-11-06' });
  });

  it('writes the days that were moved and leaves the others to the millisecond', () => {
    expect(boundChanges({ empty: '2026-11-04', full: '2026-11-06' }, held, LAMPS, NOW)).toEqual({});
    expect(boundChanges({ empty: '2026-11-02', full: '2026-11-06' }, held, LAMPS, NOW)).toEqual({ not_before: '2026-11-01T23:00:00.000Z' });
    expect(boundChanges({ empty: null, full: TODAY }, held, LAMPS, NOW)).toEqual({ not_before: null, not_after: NOW.toISOString() });
  });

  it('names the looks that would lie before it', () => {
    const looks = ['2026-11-05T18:00:00.000Z', '2026-11-08T18:00:00.000Z'].map((at) => record('look', { at, mouth: 'full' }));
    expect(looksBefore({ empty: '2026-11-06', full: null }, looks, LAMPS.zone)).toEqual([looks[0]]);
    expect(looksBefore({ empty: null, full: null }, looks, LAMPS.zone)).toEqual([]);
  });
});
