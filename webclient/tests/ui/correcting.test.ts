/** Correcting a look long after it was logged: when, which male, what was seen; and taking it out. */
import { afterEach, describe, expect, it } from 'vitest';
import { AS_IT_WAS, lookChanges, lookForm, lookProblem, mayTakeOut, partsShown, takeOut, type LookForm } from '../../src/pages/correcting';
import { candidates, couldBe, crowded, maleCards, unsettledOf, type Hold } from '../../src/pages/whose';
import { editBack } from '../../src/pages/writes';
import type { Rec, Store } from '../../src/store';
import { ANNA, newPhone, nextPush, restart, type World } from '../machine/world';
import { LAMPS, NOW, maleThatHolds, nowOf, phoneOf } from './phone';
import { record } from './records';

const AT = '2026-11-24T18:10:00.000Z';
const EARLIER = new Date('2026-11-23T17:55:00.000Z');
const put = (other: Date) => ({ timing: { when: 'other' as const, other }, isRight: false });
const form = (look: Rec, changes: Partial<LookForm> = {}): LookForm => ({ ...lookForm(look), ...changes });
const changed = (look: Rec, changes: Partial<LookForm>) => lookChanges(form(look, changes), look, LAMPS, NOW);

describe('when a look was', () => {
  const look = record('look', { about: 'brood-1', at: AT, at_error_min: 90, light: 'daylight', mouth: 'full', clock_doubtful: true });

  it('is put anew as dated by hand, and the doubt of the clock ends with it', () => {
    expect(changed(look, { time: put(EARLIER) })).toMatchObject({ at: EARLIER.toISOString(), at_error_min: 15, clock_doubtful: false });
  });

  it('may be said to be right: then only the doubt ends', () => {
    expect(changed(look, { time: { timing: null, isRight: true } })).toMatchObject({ clock_doubtful: false });
    expect(changed(look, { time: { timing: null, isRight: true } })).not.toHaveProperty('at');
  });

  it('stays to the millisecond where nobody touched it, and so does the doubt', () => {
    expect(changed(look, { time: AS_IT_WAS })).not.toHaveProperty('clock_doubtful');
    expect(changed(look, { time: put(new Date(AT)) })).not.toHaveProperty('at');
  });

  it('is not doubted any more on the phone that found its clock wrong only after the correction', async () => {
    const world: World = { nowMs: NOW.getTime() };
    const phone = await newPhone(world, 5, ANNA);
    phone.aheadMs = 5 * 3_600_000;
    const added = await phone.store.add('look', { about: 'brood-1', mouth: 'full' });
    const clock = new Date(world.nowMs + phone.aheadMs);
    await editBack(phone.store, added, lookChanges(form(added, { time: put(EARLIER) }), added, LAMPS, clock));
    await restart(world, phone);
    await nextPush(world, phone);
    expect((await phone.store.get(added.id))?.fields).toMatchObject({ at: EARLIER.toISOString(), clock_doubtful: false });
    await phone.store.close();
  });
});

describe('the parts of a look', () => {
  const look = record('look', { about: 'brood-1', at: AT, light: 'daylight', mouth: 'full', eggs: 'silver' });

  it('are asked by its light and hour', () => {
    const red = record('look', { about: 'brood-1', at: '2026-11-24T22:10:00.000Z', light: 'red', mouth: 'full' });
    expect(partsShown(form(red), red, LAMPS, NOW)).toEqual(['mouth', 'tails', 'loose_fry']);
    expect(partsShown(form(look), look, LAMPS, NOW)).toEqual(['mouth', 'eggs', 'tails', 'loose_fry', 'food']);
  });

  it('keep showing what was logged, even where this light would not ask it', () => {
    const inRed = form(look, { light: 'red' });
    expect(partsShown(inRed, look, LAMPS, NOW)).toContain('eggs');
    expect(lookChanges(inRed, look, LAMPS, NOW)).toMatchObject({ light: 'red', eggs: 'silver' });
    const takenBack = form(look, { light: 'red', seen: { ...inRed.seen, eggs: null } });
    expect(partsShown(takenBack, look, LAMPS, NOW)).toContain('eggs');
  });
});

describe('whose look it was', () => {
  const tank = record('tank', { name: 'Hall tank', zone: LAMPS.zone });
  const hold = (name: string, brood: object, home: Rec = tank): Hold => ({ brood: record('brood', brood as Rec['fields']), fish: record('fish', { name, about: home.id }), tank: home });
  const quill = hold('Quill', { not_before: '2026-11-06T00:00:00Z', ended: null });
  const comma = hold('Comma', { not_before: '2026-11-10T00:00:00Z', ended: null });
  const old = hold('Quill', { not_before: '2026-08-01T00:00:00Z', ended: 'caught', ended_at: '2026-08-24T20:00:00Z' });

  it('is asked among those who can have held then, with the one it is said of now', () => {
    const at = new Date('2026-11-08T20:00:00Z');
    expect(candidates([quill, comma, old], at, null)).toEqual([quill]);
    expect(candidates([quill, comma, old], at, old.brood.id)).toEqual([quill, old]);
    expect([couldBe(old, new Date('2026-08-26T20:00:00Z')), couldBe(old, new Date('2026-08-30T20:00:00Z'))]).toEqual([true, false]);
  });

  it('is never a hold that was none, unless it is said of that one now', () => {
    const none = hold('Saffron', { ended: 'mistake', ended_at: '2026-11-20T20:00:00Z' });
    const at = new Date('2026-11-18T20:00:00Z');
    expect(candidates([quill, none], at, quill.brood.id)).toEqual([quill]);
    expect(candidates([quill, none], at, none.brood.id)).toEqual([quill, none]);
  });

  it('may be left open where two of them live in one tank', () => {
    expect(crowded([quill, comma])).toEqual([{ id: tank.id, name: 'Hall tank' }]);
    expect(crowded([quill, hold('Saffron', {}, record('tank', { name: 'Study cube' }))])).toEqual([]);
    expect(maleCards([quill, comma], NOW).map((card) => card.name)).toEqual(['Quill', 'Comma']);
  });

  it('is refused before the other male began, in words, before anything is written', () => {
    const look = record('look', { about: quill.brood.id, at: '2026-11-08T20:00:00.000Z', mouth: 'full' });
    expect(lookProblem(form(look), look, quill.brood, LAMPS, NOW)).toBeNull();
    expect(lookProblem(form(look, { about: comma.brood.id }), look, comma.brood, LAMPS, NOW)).toMatch(/surely did not hold/);
    expect(lookProblem(form(look, { about: tank.id }), look, undefined, LAMPS, NOW)).toBeNull();
  });
});

describe('on the phone', () => {
  let store: Store;
  afterEach(() => store.close());

  it('a look of one of them, unsure which, is found with the brood until it is settled', async () => {
    store = await phoneOf('keeper');
    const brood = await maleThatHolds(store);
    const { brood: held, fish, tank } = await nowOf(store, brood);
    const look = await store.add('look', { about: tank?.id ?? '', at: AT, tails: 'seen' });
    const hold = { brood: held, fish, tank };
    expect((await unsettledOf(store, hold)).map((one) => one.id)).toEqual([look.id]);
    const back = await editBack(store, look, lookChanges(form(look, { about: brood }), look, LAMPS, NOW));
    expect(await unsettledOf(store, hold)).toEqual([]);
    expect((await nowOf(store, brood)).looks.map((one) => one.id)).toContain(look.id);
    await back();
    expect(await unsettledOf(store, hold)).toHaveLength(1);
  });

  it.each([['keeper', true], ['helper', false]])('a %s takes a look out and back in', async (role, byGone) => {
    store = await phoneOf(role);
    const brood = await maleThatHolds(store);
    const look = await store.add('look', { about: brood, at: AT, mouth: 'normal', note: 'wrong fish' });
    const back = await takeOut(store, look, { person: 'tove', role });
    expect((await nowOf(store, brood)).looks.map((one) => one.id)).not.toContain(look.id);
    expect((await store.get(look.id))?.fields['gone'] === true).toBe(byGone);
    await back();
    expect((await nowOf(store, brood)).looks.find((one) => one.id === look.id)?.fields).toMatchObject({ mouth: 'normal', note: 'wrong fish' });
  });

  it('a helper takes out only what is his own', async () => {
    store = await phoneOf('helper');
    const [own, other] = [record('look', {}, 'tove'), record('look', {}, 'mira')];
    expect([own, other].map((look) => mayTakeOut(look, { person: 'tove', role: 'helper' }))).toEqual([true, false]);
    expect(mayTakeOut(other, { person: 'tove', role: 'keeper' })).toBe(true);
  });
});
