/** What the pages write to the phone's own store, and that every act can be taken back whole. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { endBrood } from '../../src/pages/happening';
import { holdingOf, holdings } from '../../src/pages/holding';
import { addAte, addLook, addMark, addStillFull } from '../../src/pages/writes';
import type { Store } from '../../src/store';
import { NOW, maleThatHolds, phoneOf } from './phone';

const COUNTS = { eggs: 2, yolk: 9, free: 4, kept: 0 };
let store: Store;

const looksOf = async (brood: string) => (await holdings(store)).find((one) => one.brood.id === brood)?.looks.map((look) => look.fields) ?? [];

describe.each(['keeper', 'helper'])('what a %s writes', (role) => {
  let brood = '';
  beforeEach(async () => {
    store = await phoneOf(role);
    brood = await maleThatHolds(store);
  });
  afterEach(() => store.close());

  it('begins a watch with the look that says he holds', async () => {
    const [one] = await holdings(store);
    expect(one?.fish?.fields).toMatchObject({ name: 'Quill', species: 'pterapogon_kauderni' });
    expect(await looksOf(brood)).toMatchObject([{ mouth: 'full', light: 'daylight', at: NOW.toISOString() }]);
  });

  it('is one look for one tap, and nothing after it is taken back', async () => {
    const full = await addStillFull(store, brood, NOW, false);
    const ate = await addAte(store, brood, NOW);
    expect(await looksOf(brood)).toHaveLength(3);
    await full();
    await ate();
    expect(await looksOf(brood)).toHaveLength(1);
  });

  it('takes back a look with its reading and the note promised for later', async () => {
    const tank = (await store.ofKind('tank'))[0]?.id ?? '';
    const back = await addLook(store, { about: brood, at: NOW.toISOString(), tails: 'seen' }, { about: tank, temperature_c: 26.2, source: 'typed' }, true);
    expect(await store.setting('notes_later')).toHaveLength(1);
    expect((await store.about(tank, 'reading')).map((reading) => reading.fields['temperature_c'])).toEqual([26.2]);
    await back();
    expect(await store.setting('notes_later')).toEqual([]);
    expect((await store.about(tank, 'reading')).filter((reading) => reading.fields['temperature_c'] !== null)).toEqual([]);
    expect(await looksOf(brood)).toHaveLength(1);
  });

  it('ends a brood with its counts, and opens it again when that is taken back', async () => {
    const record = (await holdings(store))[0]!.brood;
    const back = await endBrood(store, record, 'caught', NOW, 0, COUNTS);
    expect(await holdings(store)).toEqual([]);
    const ended = await holdingOf(store, (await store.get(brood))!);
    expect(ended.brood.fields).toMatchObject({ ended: 'caught', kept: 13 });
    expect(ended.marks[0]?.fields).toMatchObject({ what: 'caught', eggs: 2, yolk: 9, free: 4 });
    await back();
    expect(await holdings(store)).toHaveLength(1);
  });

  it('marks a duty, and no longer once taken back', async () => {
    const back = await addMark(store, brood, NOW, { what: 'taken', duty: 'look:1' });
    await back();
    const marks = await store.about(brood, 'mark');
    expect(marks.filter((mark) => mark.fields['what'] === 'taken')).toEqual([]);
  });
});

describe('a helper', () => {
  it('never marks a record as gone, which the household would refuse', async () => {
    store = await phoneOf('helper');
    const brood = await maleThatHolds(store);
    await (await addStillFull(store, brood, NOW, true))();
    const all = await Promise.all(['look', 'brood', 'mark'].map((kind) => store.ofKind(kind, { gone: true })));
    expect(all.flat().filter((record) => 'gone' in record.fields)).toEqual([]);
    await store.close();
  });
});
