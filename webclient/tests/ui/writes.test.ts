/** What the pages write to the phone's own store, and that every act can be taken back whole. */
import 'fake-indexeddb/auto';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { endBrood, reopen } from '../../src/pages/happening';
import { holdingOf, holdings } from '../../src/pages/holding';
import { saveMale } from '../../src/pages/maledraft';
import { addAte, addLook, addMark, addStillFull } from '../../src/pages/writes';
import { openStore, type Store } from '../../src/store';

const LAMPS = { zone: 'Europe/Copenhagen', out: '21:30', on: '08:30' };
const NOW = new Date('2026-11-25T20:00:00Z');
const COUNTS = { eggs: 2, yolk: 9, free: 4, kept: 0 };
let store: Store;
let turn = 0;

async function phoneOf(role: string): Promise<Store> {
  turn += 1;
  let bytes = turn;
  const random = (count: number) => Uint8Array.from({ length: count }, () => (bytes = (bytes * 73 + 41) % 251));
  const opened = await openStore({ name: `phone-${turn}`, now: () => NOW.getTime(), elapsed: () => 0, random });
  await opened.sync.enter({ person: 'tove', name: 'Tove', role, household: 'Tern Quay 4', householdId: 'house' });
  return opened;
}

async function maleThatHolds(): Promise<string> {
  const tank = await store.add('tank', { name: 'Hall tank', zone: LAMPS.zone, lamps_out: LAMPS.out, lamps_on: LAMPS.on });
  const draft = { fish: null, name: ' Quill ', spot: 'left', tank: tank.id, hasReleased: false, holds: true, fullDaysAgo: 1, emptyDaysAgo: null };
  return (await saveMale(store, draft, LAMPS, NOW)).brood ?? '';
}
const looksOf = async (brood: string) => (await holdings(store)).find((one) => one.brood.id === brood)?.looks.map((look) => look.fields) ?? [];

describe.each(['keeper', 'helper'])('what a %s writes', (role) => {
  let brood = '';
  beforeEach(async () => {
    store = await phoneOf(role);
    brood = await maleThatHolds();
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

describe('a catch that was said by mistake', () => {
  it('is opened again later, and the opening can be taken back', async () => {
    store = await phoneOf('keeper');
    const brood = await maleThatHolds();
    await endBrood(store, (await store.get(brood))!, 'caught', NOW, 0, COUNTS);
    const { brood: ended, marks } = await holdingOf(store, (await store.get(brood))!);
    const back = await reopen(store, ended, marks.find((mark) => mark.fields['what'] === 'caught'));
    expect((await holdings(store)).map((one) => one.brood.id)).toEqual([brood]);
    await back();
    expect(await holdings(store)).toEqual([]);
    expect((await store.get(brood))?.fields['kept']).toBe(COUNTS.yolk + COUNTS.free);
    await store.close();
  });
});

describe('a helper', () => {
  it('never marks a record as gone, which the household would refuse', async () => {
    store = await phoneOf('helper');
    const brood = await maleThatHolds();
    await (await addStillFull(store, brood, NOW, true))();
    const all = await Promise.all(['look', 'brood', 'mark'].map((kind) => store.ofKind(kind, { gone: true })));
    expect(all.flat().filter((record) => 'gone' in record.fields)).toEqual([]);
    await store.close();
  });
});
