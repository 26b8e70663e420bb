/** Tonight: what a card says, which duties are due and whose they are, and when young are loose. */
import { describe, expect, it } from 'vitest';
import { alarmsOf } from '../../src/pages/alarms';
import { cardView, costWords, dayOfHold, daysFasting } from '../../src/pages/card';
import type { Duty } from '../../src/pages/derived';
import { asksOf, dutyState, fieldsOf, isForTonight, isOfUse } from '../../src/domain/duties';
import { dutiesTonight, glance, looseFry, nextCatch, type Evening } from '../../src/pages/evening';
import { isUnderWay, looksNotCounted, type Holding } from '../../src/pages/holding';
import { texts } from '../../src/texts';
import { clockTime, dayName } from '../../src/ui/dates';
import { forecast, holding, night, record } from './records';

/** An hour of 25 November as the language of the machine writes it, in the tank's zone. */
const hour = (utc: string): string => clockTime(new Date(`2026-11-25T${utc}:00Z`), 'Europe/Copenhagen');
const NOW = new Date('2026-11-25T20:00:00Z');
const LOOK_DUTY: Duty = { key: 'look:brood:2026-11-25', kind: 'look_tonight', brood: 'brood', night: '2026-11-25', due_at: '2026-11-25T21:00:00.000Z', until_at: '2026-11-26T07:30:00.000Z', taken_by: null, done_at: null };

function evening(...all: ReturnType<typeof holding>[]): Evening {
  const people = { household: { id: 'h', name: 'Tern Quay 4' }, people: [{ id: 'jonas', name: 'Jonas', role: 'keeper' as const, gone: false }] };
  return { holding: all, waters: [], owed: [], unsure: [], tanks: [], fish: [], people, self: 'mira', notesLater: [], isShared: false };
}
function mark(what: string, at: string, by: string, duty: string | null = null) {
  return record('mark', { what, at, duty }, by);
}

describe('a card', () => {
  it('names the night to catch, its hour in the tank’s zone, and what a night earlier or later costs', () => {
    const card = cardView(holding(), NOW, false);
    expect(card.catch).toMatchObject({ night: '2026-11-27', time: hour('21:30'), isTonight: false, why: 'One night earlier costs 3 in 100 (more are still eggs), one night later 8 (more are let go).' });
  });

  it('gives the day of an hour past midnight, where lamps go out late', () => {
    const late = forecast({ catch: { night: '2026-11-27', at: '2026-11-27T23:30:00.000Z', saved: 0.68 } });
    expect(cardView(holding({ forecast: late }), NOW, false).catch).toMatchObject({ night: '2026-11-27', headline: dayName('2026-11-27'), time: `Sat ${hour('23:30')}` });
  });

  it('says tonight on the night itself, also after midnight', () => {
    expect(cardView(holding(), new Date('2026-11-27T23:30:00Z'), false).catch).toMatchObject({ headline: 'Tonight', isTonight: true });
  });

  it('says nothing of an earlier night where there is none', () => {
    expect(costWords([night('2026-11-25', 0.5), night('2026-11-26', 0.4)], '2026-11-25')).toBe('One night later costs 10 in 100 (more are let go).');
  });

  it('reads the chances off the grid as the hours pass, and not past its end', () => {
    expect(cardView(holding(), new Date('2026-12-02T12:00:00Z'), false).chances?.held_young).toBeCloseTo(0.4, 9);
    const late = cardView(holding(), new Date('2026-12-20T12:00:00Z'), false);
    expect(late.chances).toBeNull();
    expect(late.forecastNote).toMatch(/over two weeks old/);
  });

  it('tells how old the forecast is when it is old, or when there is no connection', () => {
    expect(cardView(holding(), NOW, false).age).toBeNull();
    expect(cardView(holding(), NOW, true).age).toBe('No connection. Forecast of 8 h ago, carried on to this hour');
    expect(cardView(holding(), new Date('2026-11-26T12:00:00Z'), false).age).toMatch(/24 h ago/);
  });

  it('says that looks are kept where there is no forecast yet, and why one could not be made', () => {
    expect(cardView(holding({ forecast: undefined }), NOW, false).forecastNote).toMatch(/with a connection it comes within a minute/);
    expect(cardView(holding({ forecast: forecast({ error: 'The tank has no zone yet.' }) }), NOW, false).forecastNote).toMatch(/no zone/);
  });

  it('names the look that does not fit', () => {
    const look = record('look', { at: '2026-11-24T21:40:00.000Z', mouth: 'normal' });
    const card = cardView(holding({ looks: [look], forecast: forecast({ conflict: { look: look.id, why: 'x' } }) }), NOW, false);
    expect(card.conflict).toBe(`The look yesterday, ${hour('21:40')} (mouth normal) hardly fits the others.`);
  });

  it('says why the night moved', () => {
    const look = record('look', { at: '2026-11-25T19:40:00.000Z', tails: 'seen' });
    const changed = { from_night: '2026-11-27', to_night: '2026-11-26', because: look.id };
    expect(cardView(holding({ looks: [look], forecast: forecast({ changed }) }), NOW, false).moved).toBe(`Moved from ${dayName('2026-11-27')} to ${dayName('2026-11-26')}: tails seen, today, ${hour('19:40')}`);
  });

  it('counts the days of the hold and how many they may be off', () => {
    expect(dayOfHold(forecast(), NOW)).toEqual({ day: 19, offDays: 2 });
  });

  it('counts the days since he ate from looks, feedings and what the server knew', () => {
    const looks = [record('look', { at: '2026-11-07T18:00:00.000Z', food: 'ate' }), record('look', { at: '2026-11-20T18:00:00.000Z', food: 'ignored' })];
    expect(daysFasting(holding({ looks }), NOW)).toBe(18);
    expect(daysFasting(holding({ feedings: [record('feeding', { at: '2026-11-10T18:00:00.000Z', took: 'ate' })] }), NOW)).toBe(15);
    expect(daysFasting(holding({ forecast: forecast({ last_ate: '2026-11-24T12:00:00.000Z' }) }), NOW)).toBe(1);
    expect(daysFasting(holding(), NOW)).toBeNull();
  });

  it('counts the looks that the forecast has not seen', () => {
    const looks = [record('look', { at: '2026-11-24T20:00:00.000Z' }), record('look', { at: '2026-11-25T19:00:00.000Z' })];
    expect(looksNotCounted(holding({ looks }))).toBe(1);
  });
});

describe('a duty', () => {
  it('is due tonight from the hours before until it is over', () => {
    const ends = new Date('2026-11-26T07:30:00Z');
    expect(isForTonight(LOOK_DUTY, NOW, ends)).toBe(true);
    expect(isForTonight({ ...LOOK_DUTY, due_at: '2026-11-26T21:00:00.000Z' }, NOW, ends)).toBe(false);
    expect(isForTonight(LOOK_DUTY, new Date('2026-11-26T08:00:00Z'), ends)).toBe(false);
    const endless = { ...LOOK_DUTY, until_at: null };
    expect([20.9, 21.1].map((hours) => isOfUse(endless, new Date(Date.parse('2026-11-26T00:00:00Z') + hours * 3_600_000)))).toEqual([true, false]);
  });

  it('belongs to whoever took it first, and to nobody once handed back', () => {
    const first = mark('taken', '2026-11-25T18:00:00.000Z', 'jonas', LOOK_DUTY.key);
    const second = mark('taken', '2026-11-25T19:00:00.000Z', 'mira', LOOK_DUTY.key);
    expect(dutyState(LOOK_DUTY, [second, first]).takenBy).toBe('jonas');
    const back = mark('handed_back', '2026-11-25T19:30:00.000Z', 'jonas', LOOK_DUTY.key);
    expect(dutyState(LOOK_DUTY, [first, back]).takenBy).toBeNull();
    // As on the server: who hands it back leaves it to the one who took it after him.
    expect(dutyState(LOOK_DUTY, [first, second, back]).takenBy).toBe('mira');
  });

  it('is judged by the order in which marks were made, not by what a wrong clock said', () => {
    const early = { ...mark('taken', '2026-11-25T18:00:00.000Z', 'jonas', LOOK_DUTY.key), made: '1795635000000.0000.bb22cc33' };
    const fast = { ...mark('taken', '2026-11-25T20:00:00.000Z', 'mira', LOOK_DUTY.key), made: '1795634000000.0000.aa11bb22' };
    expect(dutyState(LOOK_DUTY, [early, fast]).takenBy).toBe('mira');
  });

  it('is done whatever else was said of it, and over where somebody skipped it, with the reason', () => {
    const skipped = mark('skipped', '2026-11-25T18:00:00.000Z', 'jonas', LOOK_DUTY.key);
    const why = { ...skipped, fields: { ...skipped.fields, note: 'Not needed any more' } };
    expect(dutyState(LOOK_DUTY, [why])).toMatchObject({ doneBy: 'jonas', doneAt: '2026-11-25T18:00:00.000Z', isSkipped: true, why: 'Not needed any more' });
    expect(dutiesTonight(evening(holding({ duties: [LOOK_DUTY], marks: [why] })), NOW)[0]?.done).toBe('Left out by Jonas: Not needed any more');
    const done = mark('done', '2026-11-25T19:00:00.000Z', 'mira', LOOK_DUTY.key);
    expect(dutyState(LOOK_DUTY, [why, done])).toMatchObject({ doneBy: 'mira', isSkipped: false, why: null });
  });

  it('is put off for the one who said so alone, and until the hour he said last', () => {
    const later = (at: string, until: string) => record('mark', { what: 'later', at, until, duty: LOOK_DUTY.key }, 'mira');
    const marks = [later('2026-11-25T19:00:00.000Z', '2026-11-25T21:00:00.000Z'), later('2026-11-25T19:30:00.000Z', '2026-11-25T20:30:00.000Z')];
    const seenBy = (self: string, now: Date) => dutiesTonight({ ...evening(holding({ duties: [LOOK_DUTY], marks })), self }, now)[0];
    expect(seenBy('mira', NOW)).toMatchObject({ later: `You put it off until ${hour('20:30')}`, done: null, isFree: true });
    expect(seenBy('jonas', NOW)?.later).toBeNull();
    expect(seenBy('mira', new Date('2026-11-25T20:30:00Z'))?.later).toBeNull();
  });

  it('tells both who took it without knowing of each other whose it is', () => {
    const marks = [mark('taken', '2026-11-25T18:00:00.000Z', 'jonas', LOOK_DUTY.key), mark('taken', '2026-11-25T18:01:00.000Z', 'mira', LOOK_DUTY.key)];
    const seenBy = (self: string) => dutiesTonight({ ...evening(holding({ duties: [LOOK_DUTY], marks })), self }, NOW)[0];
    expect(seenBy('mira')).toMatchObject({ holder: 'Jonas took it first and does it', isMine: false });
    expect(seenBy('jonas')).toMatchObject({ holder: 'Yours: you took it before Somebody', isMine: true });
  });

  it('names who has it in hand and who did it', () => {
    const taken = holding({ duties: [LOOK_DUTY], marks: [mark('taken', '2026-11-25T18:00:00.000Z', 'jonas', LOOK_DUTY.key)] });
    expect(dutiesTonight(evening(taken), NOW)[0]).toMatchObject({ holder: 'Jonas does it', isFree: false, isMine: false, time: hour('21:00') });
    const done = holding({ duties: [LOOK_DUTY], marks: [mark('done', '2026-11-25T19:00:00.000Z', 'mira', LOOK_DUTY.key)] });
    expect(dutiesTonight(evening(done), NOW)[0]?.done).toBe('You did it, 60 min ago');
    const byALook = holding({ duties: [{ ...LOOK_DUTY, done_at: '2026-11-25T19:00:00.000Z' }] });
    expect(dutiesTonight(evening(byALook), NOW)[0]?.done).toBe('Done, 60 min ago');
  });
});

describe('the number on the badge', () => {
  const due: Duty = { ...LOOK_DUTY, due_at: '2026-11-25T20:45:00.000Z' };
  const asks = (duty: Duty, ...marks: ReturnType<typeof mark>[]): boolean => asksOf(duty, marks, 'mira', NOW);
  it('counts what is due within the hour, whether it is free or taken by who looks', () => {
    expect([asks(due), asks(due, mark('taken', '2026-11-25T18:00:00.000Z', 'mira', due.key))]).toEqual([true, true]);
    expect(asks({ ...due, due_at: '2026-11-25T21:05:00.000Z' })).toBe(false);
  });

  it('leaves out what is over, another’s, or put off', () => {
    const later = record('mark', { what: 'later', at: '2026-11-25T19:00:00.000Z', until: '2026-11-25T20:10:00.000Z', duty: due.key });
    expect(asks(due, later)).toBe(false);
    expect(['taken', 'done', 'skipped'].map((what) => asks(due, mark(what, '2026-11-25T18:00:00.000Z', 'jonas', due.key)))).toEqual([false, false, false]);
    expect(asks({ ...due, until_at: '2026-11-25T19:59:00.000Z' })).toBe(false);
  });
});

describe('what is said of a duty', () => {
  it('is a mark of its key: until when it is put off, or why it is left out', () => {
    expect(fieldsOf('k', { what: 'later', minutes: 30 }, NOW)).toEqual({ what: 'later', duty: 'k', until: '2026-11-25T20:30:00.000Z' });
    expect(fieldsOf('k', { what: 'skipped', note: 'Seen to already' }, NOW)).toEqual({ what: 'skipped', duty: 'k', note: 'Seen to already' });
    expect(fieldsOf('k', { what: 'taken' }, NOW)).toEqual({ what: 'taken', duty: 'k' });
  });
});

describe('a tank in another zone than this device', () => {
  const away = (zone: string) => holding({ tank: record('tank', { name: 'Hall tank', zone, lamps_out: '21:30', lamps_on: '08:30' }) });
  it('is named with its hours', () => {
    const card = cardView(away('Europe/Lisbon'), NOW, false);
    expect([card.hours, card.catch?.place]).toEqual(['Hours in Lisbon time', 'Lisbon']);
    expect(nextCatch([card])).toMatch(/ in Lisbon time$/);
    const duty = dutiesTonight(evening({ ...away('America/Argentina/Buenos_Aires'), duties: [LOOK_DUTY] }), NOW)[0];
    expect(duty?.time).toMatch(/ in Buenos Aires time$/);
  });

  it('is not where both clocks show the same', () => {
    const card = cardView(away('Europe/Berlin'), NOW, false);
    expect([card.hours, card.catch?.place]).toEqual([null, null]);
  });

  it('is said to be unknown here where this device has never heard of it', () => {
    expect(cardView(away('Europe/Atlantis'), NOW, false).hours).toBe('Hours of this device, which does not know the zone Europe/Atlantis');
  });
});

describe('loose young of nobody knows which male', () => {
  const quill = holding();
  const tank = quill.tank?.id ?? '';
  const male = (name: string, brood: string, changes = {}) => ({ ...quill, fish: record('fish', { about: tank, name }), brood: { ...quill.brood, id: brood, fields: { ...quill.brood.fields, not_before: '2026-11-03T12:00:00.000Z' } }, ...changes });
  const look = record('look', { about: tank, at: '2026-11-25T19:00:00.000Z', loose_fry: 'seen' });
  const seen = (...all: Holding[]): Evening => ({ ...evening(...all), unsure: [look], tanks: quill.tank ? [quill.tank] : [] });
  const safe = (brood: string) => record('mark', { about: brood, what: 'loose_fry_handled', at: '2026-11-25T19:20:00.000Z' });

  it('raise one alarm for all that they may have come from', () => {
    const alarms = alarmsOf(seen(male('Quill', 'q'), male('Comma', 'c'), holding()), NOW);
    expect(alarms).toHaveLength(1);
    expect(alarms[0]?.males).toEqual([{ brood: 'q', duty: null }, { brood: 'c', duty: null }]);
    expect(alarms[0]?.seen).toBe(`Loose young seen in Hall tank, today, ${hour('19:00')}. Perhaps from Quill or Comma`);
  });

  it('leave those out whose hold began later, and those of whom it was handled', () => {
    const later = male('Comma', 'c');
    const begun = { ...later, brood: { ...later.brood, fields: { ...later.brood.fields, not_before: '2026-11-25T19:30:00.000Z' } } };
    expect(alarmsOf(seen(male('Quill', 'q'), begun), NOW)[0]?.males).toEqual([{ brood: 'q', duty: null }]);
    expect(alarmsOf(seen(male('Quill', 'q', { marks: [safe('q')] }), begun), NOW)).toEqual([]);
  });

  it('add nothing to the alarm of a male of whom they were seen by name in another tank', () => {
    const named = holding({ looks: [record('look', { at: '2026-11-25T19:10:00.000Z', loose_fry: 'seen' })] });
    expect(alarmsOf(seen(named, male('Quill', 'q')), NOW).map((alarm) => alarm.males.map((one) => one.brood))).toEqual([['q'], [named.brood.id]]);
  });
});

describe('loose young', () => {
  const seen = record('look', { at: '2026-11-25T19:00:00.000Z', loose_fry: 'seen' });
  it('are told from the look on this phone, without the server', () => {
    expect(looseFry(holding({ looks: [seen] }))?.at.toISOString()).toBe('2026-11-25T19:00:00.000Z');
  });

  it('come again after they were said to be done, and are over once the duty itself was', () => {
    const duty = { ...LOOK_DUTY, key: 'fry_loose:brood:1', kind: 'fry_loose' as const, due_at: '2026-11-25T19:00:00.000Z' };
    const done = mark('done', '2026-11-25T19:10:00.000Z', 'mira', duty.key);
    expect(dutyState(duty, [done]).doneAt).toBeNull();
    expect(looseFry(holding({ looks: [seen], duties: [duty], marks: [done] }))).toBeNull();
    const again = record('look', { at: '2026-11-25T19:20:00.000Z', loose_fry: 'seen' });
    expect(looseFry(holding({ looks: [seen, again], duties: [duty], marks: [done] }))?.at.toISOString()).toBe('2026-11-25T19:20:00.000Z');
  });

  it('are over once somebody says that they are safe', () => {
    expect(looseFry(holding({ looks: [seen], marks: [mark('loose_fry_handled', '2026-11-25T19:20:00.000Z', 'mira')] }))).toBeNull();
  });
});

describe('the glance', () => {
  const cards = [cardView(holding(), NOW, false)];
  it('says what is first, what comes next, or that there is nothing to do', () => {
    expect(glance(cards, [], null)).toBe('Nothing to do now');
    expect(glance(cards, dutiesTonight(evening(holding({ duties: [LOOK_DUTY] })), NOW), null)).toBe('One thing to do: look tonight');
    expect(glance(cards, [], texts.tonight)).toMatch(/^Young are loose/);
    expect(nextCatch(cards)).toBe(`Next catch: Quill, ${dayName('2026-11-27')}, ${hour('21:30')}`);
  });

  it('says now once the hour has come', () => {
    const hours = ['2026-11-27T21:00:00Z', '2026-11-27T21:45:00Z'].map((at) => glance([cardView(holding(), new Date(at), false)], [], null));
    expect(hours).toEqual([`Catch Quill tonight, ${hour('21:30')}`, 'Catch Quill now, under dim red light']);
  });

  it('promises no night that is over: without a newer forecast it asks for a look', () => {
    const late = [cardView(holding(), new Date('2026-11-29T12:00:00Z'), true)];
    expect(late[0]?.catch?.isPast).toBe(true);
    expect(nextCatch(late)).toBeNull();
    expect(glance(late, [], null)).toBe('The night to catch Quill is over: see whether he still holds');
  });
});

describe('a brood', () => {
  it('is under way until it ended or the male was caught', () => {
    const { brood } = holding();
    expect(isUnderWay(brood, [])).toBe(true);
    expect(isUnderWay(brood, [mark('caught', '2026-11-25T21:00:00.000Z', 'mira')])).toBe(false);
    expect(isUnderWay({ ...brood, fields: { ...brood.fields, ended: 'lost' } }, [])).toBe(false);
  });
});
