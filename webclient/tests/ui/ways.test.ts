/** The two other ways: a male that lets his young go at hatching, and one that guards a nest. */
import { describe, expect, it } from 'vitest';
import { AT_HATCHING, IN_THE_MOUTH, NEST, SPECIES, wayOf, type Way } from '../../src/domain/ways';
import { alarmsOf } from '../../src/pages/alarms';
import type { Duty } from '../../src/pages/derived';
import { nextView, turnsOf } from '../../src/pages/belief/turns';
import { cardView, wantsDarkness } from '../../src/pages/card';
import { lookForm, lookProblem } from '../../src/pages/correcting';
import { leftOut } from '../../src/pages/doubts';
import { entryWords } from '../../src/pages/entrywords';
import { dutyView, glance, nextCatch, type Evening } from '../../src/pages/evening';
import { entriesOf } from '../../src/pages/happening';
import { holdingOf, type Holding } from '../../src/pages/holding';
import { EMPTY, TIMES, askedParts, lightOf, lookFields, timesOffered } from '../../src/pages/lookdraft';
import { maleChanges, saveMale } from '../../src/pages/maledraft';
import { statesOf, stepsOf } from '../../src/pages/story';
import { timetables } from '../../src/pages/timetable';
import { turned } from '../../src/pages/turning';
import { verdictWords } from '../../src/pages/verdict';
import { addStillFull } from '../../src/pages/writes';
import type { Rec } from '../../src/store';
import { METRIC } from '../../src/domain/units';
import { broods } from '../../src/texts/en/broodways';
import { wordsOf } from '../../src/texts/ways';
import { clockTime } from '../../src/ui/dates';
import { insideSentence } from '../../src/ui/chances';
import { lookWords } from '../../src/ui/said';
import { phoneOf } from './phone';
import { forecast, holding, record } from './records';

const LAMPS = { zone: 'Europe/Copenhagen', out: '21:30', on: '08:30' };
const NOON = new Date('2026-11-25T11:00:00Z');
const NIGHT = new Date('2026-11-25T21:10:00Z');
const ON_THE_HOUR = new Date('2026-11-27T21:40:00Z');
const NONE = { eggs: 0, eyed: 0, held_young: 0, releasing: 0, released: 0, lost: 0 };
const STILL_EGGS = { ...NONE, eggs: 0.2, eyed: 0.7, released: 0.05, lost: 0.05 };
const hour = clockTime(new Date('2026-11-27T21:30:00Z'), LAMPS.zone);

async function of(way: Way, now = STILL_EGGS, changes: Partial<Holding> = {}): Promise<Holding> {
  const grid = ['2026-11-25T12:00:00.000Z', '2026-12-09T12:00:00.000Z'].map((at) => ({ at, ...now }));
  return holding({ way, words: await wordsOf(way), forecast: forecast({ way, now, grid }), ...changes });
}
function evening(...all: Holding[]): Evening {
  return { holding: all, waters: [], owed: [], unsure: [], tanks: [], fish: [], people: undefined, self: 'mira', notesLater: [], isShared: false } as Evening;
}

describe('the way of a male', () => {
  it('is that of his species, or else what the forecast says', () => {
    expect(SPECIES.map((species) => wayOf(species))).toEqual([IN_THE_MOUTH, AT_HATCHING, NEST]);
    expect(wayOf('amphiprion_ocellaris', IN_THE_MOUTH)).toBe(NEST);
    expect(wayOf(null, AT_HATCHING)).toBe(AT_HATCHING);
    expect(wayOf(null)).toBe(IN_THE_MOUTH);
  });

  it('comes with the words for it', async () => {
    const store = await phoneOf('owner');
    const fish = await store.add('fish', { name: 'Rook', species: 'amphiprion_ocellaris' });
    const brood = await store.add('brood', { about: fish.id, ended: null });
    const one = await holdingOf(store, (await store.get(brood.id)) as Rec);
    expect([one.way, one.words.tonight.stillFull]).toEqual([NEST, 'Clutch still there']);
  });
});

describe('a look at a nest', () => {
  const nest = [NEST] as const;
  it('asks for the clutch, its colour by day, and larvae; neither mouth, tails nor food', () => {
    expect(askedParts(EMPTY, LAMPS, NOON, nest)).toEqual(['clutch', 'eggs', 'loose_fry']);
    expect(askedParts(EMPTY, LAMPS, NIGHT, nest)).toEqual(['clutch', 'loose_fry']);
  });

  it('takes no lamp for granted in the dark, and is written as it was said', () => {
    expect(lightOf(EMPTY, LAMPS, NIGHT, nest)).toBe('none');
    expect(lookFields({ ...EMPTY, about: 'brood-1', seen: { clutch: 'there', mouth: 'full' } }, LAMPS, NIGHT, nest)).toMatchObject({ light: 'none', clutch: 'there' });
    expect(lookFields({ ...EMPTY, seen: { clutch: 'there', mouth: 'full' } }, LAMPS, NOON, nest)).not.toHaveProperty('mouth');
  });

  it('offers no last evening, when it was to lie in the dark; unless that was chosen before', () => {
    expect(timesOffered(EMPTY, nest)).toEqual(['now', 'feeding', 'other']);
    expect(timesOffered({ ...EMPTY, when: 'evening' }, nest)).toEqual(TIMES);
    expect(timesOffered(EMPTY, [AT_HATCHING])).toEqual(TIMES);
    expect(timesOffered(EMPTY, [IN_THE_MOUTH, NEST])).toEqual(TIMES);
  });

  it('asks for both where nobody is sure which male it was', () => {
    expect(askedParts(EMPTY, LAMPS, NOON, [IN_THE_MOUTH, NEST])).toEqual(['mouth', 'clutch', 'eggs', 'tails', 'loose_fry', 'food']);
  });

  it('says by one tap that the clutch is still there', async () => {
    const store = await phoneOf('owner');
    await addStillFull(store, 'brood', NOON, true, NEST);
    expect((await store.about('brood', 'look'))[0]?.fields).toMatchObject({ clutch: 'there', light: 'daylight' });
  });

  it('by one tap once it may be looked at again by night claims no red lamp', async () => {
    const store = await phoneOf('owner');
    await addStillFull(store, 'brood', NIGHT, false, NEST);
    await addStillFull(store, 'other', NIGHT, false, AT_HATCHING);
    const logged = await Promise.all(['brood', 'other'].map(async (brood) => (await store.about(brood, 'look'))[0]?.fields));
    expect(logged).toMatchObject([{ clutch: 'there', light: 'none' }, { mouth: 'full', light: 'red' }]);
  });

  it('of one that lets them go at hatching is as at a mouth', () => {
    expect(askedParts(EMPTY, LAMPS, NOON, [AT_HATCHING])).toEqual(askedParts(EMPTY, LAMPS, NOON));
  });
});

describe('full darkness', () => {
  it('is wanted from lamps-out until they have hatched or are to be collected, and only at a nest', async () => {
    expect(wantsDarkness(await of(NEST), NOON)).toBe(false);
    expect(wantsDarkness(await of(NEST), NIGHT)).toBe(true);
    expect(wantsDarkness(await of(NEST), ON_THE_HOUR)).toBe(false);
    expect(wantsDarkness(await of(NEST, { ...NONE, released: 0.97, eyed: 0.03 }), NIGHT)).toBe(false);
    expect(wantsDarkness(await of(AT_HATCHING), NIGHT)).toBe(false);
  });

  it('is wanted too where no forecast has come yet', async () => {
    expect(wantsDarkness(await of(NEST, STILL_EGGS, { forecast: undefined }), NIGHT)).toBe(true);
  });
});

describe('the card of a male whose young hatch after dark', () => {
  it('names the hatch night and what is done on it, and no window but hatching', async () => {
    for (const way of [AT_HATCHING, NEST] as const) {
      const card = cardView(await of(way), NOON, false);
      expect(card.words.tonight.catch.title).toBe('Hatch night');
      expect(card.windows.map((window) => window.label)).toEqual(['Hatching']);
      expect(card.catch?.why).not.toMatch(/let go/);
    }
    const act = async (way: Way, isTonight: boolean) => cardView(await of(way), NOON, false).words.tonight.catch.act(isTonight);
    for (const isTonight of [true, false]) {
      expect(await act(NEST, isTonight)).toMatch(/no red lamp/);
      expect(await act(AT_HATCHING, isTonight)).toMatch(/Never net him/);
    }
    // On the night itself it is too late for an evening ahead.
    expect(await act(AT_HATCHING, true)).not.toMatch(/evenings ahead/);
  });

  it('never speaks of young held in the mouth or being let go', async () => {
    for (const way of [AT_HATCHING, NEST] as const) {
      const { states } = await wordsOf(way);
      const said = (['held_young', 'releasing', 'released'] as const).map((state) => insideSentence({ ...NONE, [state]: 0.8, eyed: 0.2 }, states));
      expect(new Set(said).size).toBe(1);
      expect(said[0]).toMatch(/^Probably hatched \(80/);
    }
  });

  it('asks of a nest neither food nor fasting', async () => {
    expect(cardView(await of(NEST), NOON, false)).toMatchObject({ fasts: false, dark: false });
    expect(cardView(await of(AT_HATCHING), NOON, false)).toMatchObject({ fasts: true, dark: false });
  });
});

describe('the sentence above the cards', () => {
  it('speaks of the hatch night', async () => {
    const at = async (way: Way, when: Date) => glance([cardView(await of(way), when, false)], [], null);
    expect(await at(NEST, new Date('2026-11-27T20:00:00Z'))).toBe(`Hatch night at Quill’s nest: full darkness, then collect, ${hour}`);
    expect(await at(NEST, ON_THE_HOUR)).toBe('Collect the larvae at Quill’s nest now');
    expect(await at(AT_HATCHING, ON_THE_HOUR)).toMatch(/leave him in the dark/);
    expect(nextCatch([cardView(await of(NEST), new Date('2026-11-26T11:00:00Z'), false)])).toBe(`Next hatch night: Quill, tomorrow night, ${hour}`);
  });

  it('calls loose young of a nest larvae', async () => {
    const seen = record('look', { at: '2026-11-25T18:00:00.000Z', loose_fry: 'seen' });
    const [alarm] = alarmsOf(evening(await of(NEST, STILL_EGGS, { looks: [seen] })), NIGHT);
    expect(alarm?.seen).toMatch(/^Larvae seen in the water with Quill/);
    expect(alarm?.words.fry.steps.join(' ')).toMatch(/No net, no air stone/);
    expect(glance([], [], alarm?.words ?? null)).toBe('Larvae are in the water: act now');
  });
});

describe('words', () => {
  it('of a duty by day never speak of food at a nest', async () => {
    const by_day: Duty = { key: 'look:brood-1:2026-11-25', kind: 'look_by_day', brood: 'brood-1', night: '2026-11-25', due_at: '2026-11-25T17:30:00.000Z', until_at: null, taken_by: null, done_at: null };
    const known = { turns: [], absences: [], people: undefined, self: null, units: METRIC };
    const not = async (way: Way) => { const one = await of(way); return turned(dutyView(by_day, one, known, NOON), known).not; };
    expect(await not(NEST)).toBe('No torch, no hand near the nest.');
    expect(await not(IN_THE_MOUTH)).toMatch(/no food to test him/);
  });

  it('of a look at a nest', async () => {
    const { look } = await wordsOf(NEST);
    expect(lookWords({ clutch: 'there', eggs: 'silver', loose_fry: 'seen' }, look.said)).toBe('clutch there, silver, larvae in the water');
  });

  it('of the verdict name the hatch night', async () => {
    const found = { part: 'clutch', value: 'gone', likelihood: 0.5, ...NONE, lost: 1, catch: null };
    const foretold = { ...forecast({ way: NEST }), if_seen: [{ night: '2026-11-25', at: '2026-11-25T17:30:00.000Z', light: 'daylight', findings: [found] }] };
    expect(verdictWords(foretold, { clutch: 'gone' }, 'daylight', NOON, LAMPS, await wordsOf(NEST))).toMatch(/the clutch is gone .* No hatch night any more/);
  });
});

describe('the story of a brood that hatches after dark', () => {
  it('ends with hatching, and knows no state of young held or let go', async () => {
    expect(stepsOf(await of(NEST)).map((step) => step.name)).toEqual(['spawned', 'silver', 'hatched']);
    expect(stepsOf(await of(IN_THE_MOUTH))).toHaveLength(5);
    expect(statesOf(AT_HATCHING)).toEqual(['eggs', 'eyed', 'released', 'lost']);
    expect(statesOf(IN_THE_MOUTH)).toHaveLength(6);
  });
});

describe('the page of a brood that hatches after dark', () => {
  const said = (one: Holding) => entriesOf(one).map((entry) => entryWords(entry, one).name);
  const told = record('mark', { what: 'done', duty: 'catch:brood-1', at: '2026-11-25T18:00:00.000Z' });

  it('says of what happened what the button said', async () => {
    const over = record('brood', { ended: 'released', ended_at: '2026-11-25T20:00:00.000Z' });
    expect(said(await of(NEST, STILL_EGGS, { brood: over }))).toEqual(['They hatched']);
    expect(said(await of(IN_THE_MOUTH, STILL_EGGS, { brood: over }))).toEqual(['He let them go']);
    expect([broods[NEST].ended.released, broods[AT_HATCHING].ended.released]).toEqual(['Hatched', 'Hatched']);
  });

  it('never calls its night or what is done on it a catch', async () => {
    expect(said(await of(NEST, STILL_EGGS, { marks: [told] }))).toEqual(['Collect the larvae: done']);
    expect(said(await of(AT_HATCHING, STILL_EGGS, { marks: [told] }))).toEqual(['Move him: done']);
    for (const way of [AT_HATCHING, NEST] as const) expect([broods[way].story.flag, broods[way].marks.duties.catch].join()).not.toMatch(/catch/i);
  });

  it('speaks of larvae where young are counted or were seen', async () => {
    const over = record('brood', { ended: 'released', kept: 40 });
    const one = await of(NEST, STILL_EGGS, { brood: over });
    expect(entriesOf(one).map((entry) => entryWords(entry, one).counts)).toEqual(['40 larvae kept']);
    expect([broods[AT_HATCHING].story.lane.loose_fry, broods[NEST].looks.parts.loose_fry]).toEqual(['Larvae', 'larvae']);
  });

  it('says of a look before the clutch that there was none', async () => {
    const look = record('look', { at: '2026-11-20T18:00:00.000Z', clutch: 'there' });
    const brood = record('brood', { not_before: '2026-11-21T00:00:00.000Z' });
    const told = { holding: await of(NEST, STILL_EGGS, { brood, looks: [look], forecast: forecast({ way: NEST, left_out: [look.id] }) }), people: undefined, zone: LAMPS.zone };
    expect(leftOut(look, told)?.words).toMatch(/there surely was no clutch/);
    expect(lookProblem({ ...lookForm(look), about: brood.id }, look, brood, LAMPS, NOON, NEST)).toMatch(/there surely was no clutch.*when the clutch was laid/);
  });

  it('knows a nest by its clutch, and keeps it dark before all else', () => {
    expect(broods[NEST].beginning.title).toBe('Clutch laid');
    expect(broods[NEST].cautions.list[0]).toMatch(/full darkness/);
    expect(broods[NEST].cautions.list.slice(1).join(' ')).not.toMatch(/lamp/);
    expect(broods[NEST].cautions.list).toHaveLength(broods[IN_THE_MOUTH].cautions.list.length + 1);
    expect(broods[AT_HATCHING].cautions).toBe(broods[IN_THE_MOUTH].cautions);
  });
});

describe('what is believed of a brood that hatches after dark', () => {
  const night = { night: '2026-11-26', at: '2026-11-26T21:30:00.000Z', saved: 0.6 };
  const seen = { part: 'loose_fry', value: 'seen', likelihood: 0.2, ...NONE, released: 1, catch: null };
  const ahead = { if_seen: [{ night: '2026-11-26', at: '2026-11-26T18:00:00.000Z', light: 'daylight', findings: [seen] }], catch: night };

  it('is changed by larvae, not by loose young, and ends with no hatch night', () => {
    for (const way of [AT_HATCHING, NEST]) expect(turnsOf(forecast({ way, ...ahead }), LAMPS.zone, NOON)[0]?.lines).toEqual([expect.stringMatching(/^If larvae are in the water .*: no hatch night is left\.$/)]);
    expect(turnsOf(forecast({ way: IN_THE_MOUTH, ...ahead }), LAMPS.zone, NOON)[0]?.lines[0]).toMatch(/loose young are seen/);
  });

  it('leaves the nest in peace where no look would tell', () => {
    const why = (way: Way): string => (nextView(forecast({ way, if_seen: [], catch: night }), LAMPS, NOON) as { why: string }).why;
    expect([why(NEST), why(AT_HATCHING)]).toEqual([expect.stringMatching(/Leave the nest in peace/), expect.stringMatching(/Leave him in peace/)]);
  });
});

describe('one timetable for two males', () => {
  it('is for those alone that are caught', async () => {
    const now = new Date('2026-11-25T11:00:00Z');
    expect(timetables([await of(IN_THE_MOUTH), await of(IN_THE_MOUTH)], now)).toHaveLength(1);
    expect(timetables([await of(IN_THE_MOUTH), await of(NEST)], now)).toEqual([]);
  });
});

describe('a male that is entered', () => {
  it('has his species, and his first look says what was seen of him', async () => {
    const store = await phoneOf('owner');
    const tank = await store.add('tank', { name: 'Anemone tank', zone: LAMPS.zone, lamps_out: LAMPS.out, lamps_on: LAMPS.on });
    const draft = { fish: null, name: 'Rook', spot: '', species: 'amphiprion_ocellaris', tank: tank.id, hasReleased: true, holds: true, fullDaysAgo: 1, emptyDaysAgo: 2 };
    const brood = (await saveMale(store, draft, LAMPS, NIGHT)).brood ?? '';
    expect((await store.ofKind('fish'))[0]?.fields).toMatchObject({ species: 'amphiprion_ocellaris', sex: 'male' });
    expect((await store.about(brood, 'look'))[0]?.fields).toMatchObject({ clutch: 'there', light: 'none' });
  });

  it('and is changed with his species', () => {
    expect(maleChanges({ name: ' Rook ', spot: '', species: 'sphaeramia_nematoptera', tank: 'tank-1', hasReleased: false })).toMatchObject({ name: 'Rook', species: 'sphaeramia_nematoptera' });
  });
});
