/** What is believed of a brood and why: in words, and silent where there is nothing worth a word. */
import { describe, expect, it } from 'vitest';
import type { Finding, Forecast, IfSeen } from '../../src/pages/derived';
import { chartWords, framesOf, rowsOf } from '../../src/pages/belief/developed';
import { learnedView } from '../../src/pages/belief/learned';
import { conflictOf, holdsTooLong } from '../../src/pages/belief/mend';
import { nextView, turnsOf } from '../../src/pages/belief/turns';
import { becauseOf, rankedWeights, withoutWords } from '../../src/pages/belief/weights';
import { cardView } from '../../src/pages/card';
import type { Hold } from '../../src/pages/whose';
import { METRIC } from '../../src/domain/units';
import { clockTime, dayName } from '../../src/ui/dates';
import { forecast, holding, record, spread } from './records';

const ZONE = 'Europe/Copenhagen';
const LAMPS = { zone: ZONE, out: '21:30', on: '08:30' };
const NOW = new Date('2026-11-25T15:00:00Z');
const plain = (text: string): string => text.replaceAll('\u202f', ' ');

describe('what was learned', () => {
  const tank = record('tank', { name: 'Hall tank', zone: ZONE, lamps_out: '21:30', lamps_on: '08:30', set_point_c: 26.5 });
  const fish = record('fish', { about: tank.id, name: 'Quill' });
  const other = record('fish', { about: tank.id, name: 'Comma' });
  const ended = (of: typeof fish, how: string, day: string): Hold => ({ brood: record('brood', { about: of.id, ended: how, ended_at: `${day}T20:00:00.000Z` }), fish: of, tank });
  const learned = (own: number, broods: number) => ({ broods, own_broods: own, hatch_days: 17.9, mouth_days: 4.2, early_chance: 0.125 });
  function view(holds: readonly Hold[], own: number | null, changes: Partial<Forecast> = {}, water = tank) {
    const taught = { own_hatch_days: own, hatch_days: 18.4, broods: Object.fromEntries(holds.map(({ brood }) => [brood.id, 'mark'])) };
    const his = own === null ? 0 : holds.filter((hold) => hold.fish === fish).length;
    return learnedView(holding({ fish, tank: water, forecast: forecast({ learned: learned(his, holds.length), taught, ...changes }) }), holds, METRIC);
  }
  const four = ['2026-06-01', '2026-07-01', '2026-08-01', '2026-09-01'].map((day) => ended(fish, 'caught', day));

  it('says how his own broods differed from the books, and from which it knows, the latest first', () => {
    const said = view(four, 17.7);
    expect(said?.sentences[0]).toBe('Your last four broods from Quill hatched 1.3 days earlier than the books; the forecast now leans on that.');
    expect(said?.broods.map((one) => one.words)).toEqual(['2026-09-01', '2026-08-01', '2026-07-01', '2026-06-01'].map((day) => `Quill, ${dayName(day)}`));
  });

  it('falls back on the household where he has none, and says nothing where nothing was learned', () => {
    expect(view([ended(other, 'released', '2026-09-01')], null)?.sentences[0]).toMatch(/^Your last brood from other males hatched 0\.6 days earlier than the books/);
    expect(view([ended(other, 'released', '2026-09-01'), ended(other, 'lost', '2026-10-01')], null)?.sentences[0]).toMatch(/^Your last two broods from other males, one of them lost, point to hatching 0\.6 days earlier/);
    expect(view(four, 17.7, { learned: null })).toBeNull();
  });

  it('does not say of a lost brood that it hatched', () => {
    expect(view([...four.slice(1), ended(fish, 'lost', '2026-10-01')], 18)?.sentences[0]).toMatch(/^Your last four broods from Quill, one of them lost, point to hatching 1 day earlier/);
    expect(view([ended(fish, 'lost', '2026-10-01')], 19)?.sentences[0]).toBe('No brood of Quill has been followed to its hatching yet.');
  });

  it('names the reference temperature where the tank is kept at another', () => {
    const cooler = { ...tank, fields: { ...tank.fields, set_point_c: 25 } };
    expect(view(four, 17.7, {}, cooler)?.sentences[0]).toMatch(/than the books \(both reckoned at 26\.5 °C\);/);
  });

  it('speaks of his early losses with care, and only where he has had broods', () => {
    const early = (own: number | null) => view(own === null ? [ended(other, 'released', '2026-09-01')] : four, own)?.sentences.some((one) => one.includes('one in eight'));
    expect([early(17.7), early(null)]).toEqual([true, false]);
  });

  it('is named and opened where it moved the night', () => {
    const [old] = four;
    const taught = { own_hatch_days: 18, hatch_days: 18, broods: { [old!.brood.id]: 'mark' } };
    const because = becauseOf(old!.brood.id, holding({ fish, tank, forecast: forecast({ taught }) }), four, ZONE, NOW);
    expect(because).toEqual({ words: `what Quill’s brood of ${dayName('2026-06-01')} teaches was corrected or added`, brood: old!.brood.id });
  });

  it('is named where it was opened again or taken out, and so teaches nothing', () => {
    const open: Hold = { brood: record('brood', { about: other.id, ended: null, ended_at: null }), fish: other, tank };
    const gone: Hold = { brood: record('brood', { about: fish.id, gone: true, ended: 'caught', ended_at: '2026-06-01T20:00:00.000Z' }), fish, tank };
    const words = (hold: Hold) => becauseOf(hold.brood.id, holding({ fish, tank }), [hold], ZONE, NOW)?.words;
    expect(words(open)).toBe('another brood of Comma’s teaches nothing any more, for it was opened again or taken out');
    expect(words(gone)).toBe(`Quill’s brood of ${dayName('2026-06-01')} teaches nothing any more, for it was opened again or taken out`);
  });

  it('is listed by his name where a forecast still leans on a brood that has been opened again', () => {
    const open: Hold = { brood: record('brood', { about: fish.id, ended: null, ended_at: null }), fish, tank };
    expect(view([open], 18)?.broods.map((one) => one.words)).toEqual(['Quill']);
  });
});

describe('which looks moved the forecast', () => {
  const looks = [
    record('look', { at: '2026-11-20T17:00:00.000Z', light: 'daylight', mouth: 'full', eggs: 'silver' }),
    record('look', { at: '2026-11-22T17:00:00.000Z', light: 'daylight', mouth: 'full' }),
    record('look', { at: '2026-11-24T20:00:00.000Z', light: 'red', tails: 'seen' }),
    record('look', { at: '2026-11-24T21:00:00.000Z', light: 'red', mouth: 'full' }, 'tove'),
  ];
  const influences = [
    { look: looks[0]!.id, hatched_later_days: -0.6, night_without: '2026-11-27' },
    { look: looks[1]!.id, hatched_later_days: 0.05, night_without: '2026-11-27' },
    { look: looks[2]!.id, hatched_later_days: -0.3, night_without: '2026-11-28' },
  ];
  const one = holding({ looks, forecast: forecast({ influences }) });

  it('says beside each what would be believed without it, and is silent of tiny effects', () => {
    expect(withoutWords(looks[0]!.id, one)).toBe('Without this look: hatching 0.6 days later.');
    expect(withoutWords(looks[1]!.id, one)).toBeNull();
  });

  it('says it of an evening once, beside the last of its looks', () => {
    expect(withoutWords(looks[2]!.id, one)).toBeNull();
    expect(withoutWords(looks[3]!.id, one)).toBe(`Without this evening’s looks: hatching 0.3 days later, ${dayName('2026-11-28')} instead of ${dayName('2026-11-27')}.`);
  });

  it('ranks them, what moved the night first', () => {
    const ranked = rankedWeights(one, ZONE, NOW);
    expect(ranked.map((weight) => weight.id)).toEqual([looks[3]!.id, looks[0]!.id]);
    expect(ranked[0]?.what).toMatch(/: tails seen; full$/);
    expect(ranked[0]?.effect).toBe(`It puts hatching 0.3 days earlier. Without it the night would be ${dayName('2026-11-28')}.`);
  });

  it('tells of an evening that a feeding began by its looks too', () => {
    const fed = record('feeding', { at: '2026-11-24T18:30:00.000Z', took: 'ignored' });
    const early = holding({ looks, feedings: [fed], forecast: forecast({ influences: [{ look: fed.id, hatched_later_days: -0.3, night_without: '2026-11-27' }] }) });
    const [ranked] = rankedWeights(early, ZONE, NOW);
    expect(ranked).toMatchObject({ id: looks[3]!.id, isLook: true });
    expect(ranked?.what).toMatch(/: he ignored food at a feeding; tails seen; full$/);
    expect(withoutWords(looks[3]!.id, early)).toBe('Without this evening’s looks: hatching 0.3 days later.');
    const alone = holding({ feedings: [fed], forecast: early.forecast });
    expect(rankedWeights(alone, ZONE, NOW)[0]).toMatchObject({ id: fed.id, isLook: false });
  });
});

describe('the next look', () => {
  const found = (part: string, value: string, likelihood: number, night: string | null): Finding =>
    ({ part, value, likelihood, ...forecast().now, catch: night === null ? null : { night, at: `${night}T21:30:00.000Z`, saved: 0.7 } });
  const look = (at: string, findings: Finding[], light = 'daylight'): IfSeen => ({ night: at.slice(0, 10), at, light, findings });
  const tonight = look('2026-11-25T18:30:00.000Z', [found('tails', 'none', 0.6, '2026-11-27'), found('tails', 'perhaps', 0.1, '2026-11-26'), found('tails', 'seen', 0.3, '2026-11-25'), found('eggs', 'orange', 0.01, '2026-11-30')]);
  const next = { night: '2026-11-25', at: tonight.at, light: 'daylight', gain: 0.035, cost: 0, look_for: 'tails' };

  it('says when, by what light, what to look for and what it gains', () => {
    expect(nextView(forecast({ next_look: next }), LAMPS, NOW)).toMatchObject({ when: `today, ${clockTime(new Date(tonight.at), ZONE)}, at the usual feeding, lamps on`, lookFor: 'Look for tails between his lips.', gain: expect.stringContaining('about 4 in 100') });
    expect(nextView(forecast({ next_look: { ...next, light: 'red', cost: 0.004 } }), LAMPS, NOW)).toMatchObject({ cost: expect.stringContaining('costs under 1 in 100') });
  });

  it('is to be made while its light lasts, on the brood’s page as on the card', () => {
    const due = forecast({ next_look: next });
    for (const [at, isShown] of [['2026-11-25T18:31:00Z', true], ['2026-11-25T20:29:00Z', true], ['2026-11-25T20:31:00Z', false]] as const) {
      expect(nextView(due, LAMPS, new Date(at)), at).toMatchObject(isShown ? { when: 'now, at the usual feeding, lamps on' } : { isNone: true });
      const said = cardView(holding({ forecast: due }), new Date(at), false).nextLook;
      expect(said, at).toEqual(isShown ? expect.stringMatching(/^Next look now/) : null);
    }
    const byRed = forecast({ next_look: { ...next, at: '2026-11-25T21:00:00.000Z', light: 'red' } });
    expect(nextView(byRed, LAMPS, new Date('2026-11-26T03:00:00Z'))).toMatchObject({ when: 'now, after lamps-out, dim red lamp' });
    expect(nextView(byRed, LAMPS, new Date('2026-11-26T08:00:00Z'))).toMatchObject({ isNone: true });
  });

  it('says why there is none', () => {
    const why = (changes: Partial<Forecast>, now = NOW) => (nextView(forecast(changes), LAMPS, now) as { why: string }).why;
    expect(why({ if_seen: [look(tonight.at, [found('tails', 'seen', 0.3, '2026-11-27')])] })).toMatch(/^Nothing a look could show would change the night/);
    expect(why({ if_seen: [tonight] })).toMatch(/less than the disturbance costs/);
    expect(why({ next_look: next }, new Date('2026-11-25T20:31:00Z'))).toMatch(/^Its hour is over/);
    expect(why({ catch: null })).toMatch(/^No night is named/);
  });

  it('says which findings would change the night, the likeliest first, and passes over the rare and the past', () => {
    const [turns] = turnsOf(forecast({ if_seen: [tonight] }), ZONE, NOW);
    expect(turns?.lines.map(plain)).toEqual(['If tails are seen (30 %): catch him that night.', `If there are perhaps tails (10 %): catch him on ${dayName('2026-11-26')}.`]);
    expect(turnsOf(forecast({ if_seen: [tonight] }), ZONE, new Date('2026-11-25T18:31:00Z'))).toEqual([]);
    // Once he was to be caught, a later look names another night of necessity.
    expect(turnsOf(forecast({ if_seen: [look('2026-11-28T18:30:00.000Z', [found('tails', 'seen', 0.5, '2026-11-28')])] }), ZONE, NOW)).toEqual([]);
    expect(turnsOf(forecast({ if_seen: [look(tonight.at, [found('mouth', 'normal', 0.1, null)])] }), ZONE, NOW)[0]?.lines[0]).toMatch(/nothing left to catch him for/);
  });

  it('speaks of a hatch night where the young are let go at hatching', () => {
    const lines = turnsOf(forecast({ if_seen: [tonight], way: 'released at hatching, after dark' }), ZONE, NOW)[0]?.lines;
    expect(lines?.join(' ')).not.toMatch(/catch/);
  });
});

describe('forecasts played back', () => {
  const glance = (issued: string, night: string | null, hatch: string) => {
    const { q10, q50, q90 } = spread(hatch, 2);
    const levels = { q10, q50, q90 };
    return { issued_at: issued, now: forecast().now, catch: night === null ? null : { night, at: `${night}T21:30:00.000Z`, saved: 0.7 }, hatched: levels, released: levels };
  };
  const frames = framesOf([
    glance('2026-11-10T12:00:00Z', null, '2026-11-26T06:00:00Z'), glance('2026-11-12T12:00:00Z', '2026-11-28', '2026-11-26T06:00:00Z'),
    glance('2026-11-13T12:00:00Z', '2026-11-28', '2026-11-26T07:00:00Z'), glance('2026-11-24T12:00:00Z', '2026-11-27', '2026-11-25T06:00:00Z'),
  ]);

  it('are told in words, as the chart shows them', () => {
    expect(chartWords(frames, ZONE, 'Night to catch')).toBe(`4 forecasts: hatching was first put at ${dayName('2026-11-26')}, and last at ${dayName('2026-11-25')}. Night to catch: first ${dayName('2026-11-28')}, last ${dayName('2026-11-27')}.`);
  });

  it('have a row each in the table, but not where they say the same again', () => {
    expect(rowsOf(frames, ZONE).map((frame) => frame.night)).toEqual([null, '2026-11-28', '2026-11-27']);
  });
});

describe('what asks for a word', () => {
  const odd = record('look', { at: '2026-11-24T17:00:00.000Z', light: 'daylight', mouth: 'normal' });
  const conflict = { look: odd.id, why: 'mouth normal: all the other looks together leave a chance of 0.0001 for anything so unlikely' };

  it('is a look that does not fit, until it is corrected', () => {
    const one = holding({ looks: [odd], forecast: forecast({ conflict }) });
    expect(conflictOf(one, ZONE, NOW)).toMatchObject({ look: odd, text: expect.stringContaining('mouth normal') });
    expect(conflictOf({ ...one, looks: [{ ...odd, waiting: true }] }, ZONE, NOW)).toBeNull();
    expect(conflictOf({ ...one, looks: [] }, ZONE, NOW)).toBeNull();
  });

  it('is a male that looks full longer after hatching than young are known to stay', () => {
    const full = record('look', { at: '2026-12-08T17:00:00.000Z', light: 'daylight', mouth: 'full' });
    const late = forecast({ released_last: spread('2026-12-12T12:00:00Z', 4) });
    expect(holdsTooLong(holding({ looks: [full], forecast: late }), ZONE, new Date('2026-12-08T18:00:00Z'))).toBe(dayName('2026-11-27'));
    expect(holdsTooLong(holding({ looks: [full], forecast: late }), ZONE, new Date('2026-12-12T18:00:00Z'))).toBeNull();
    const early = record('look', { at: '2026-12-06T17:00:00.000Z', light: 'daylight', mouth: 'full' });
    expect(holdsTooLong(holding({ looks: [early], forecast: late }), ZONE, new Date('2026-12-06T18:00:00Z'))).toBeNull();
  });
});
