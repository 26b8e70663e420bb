/** Choices of nights reckoned on the phone: away, and two males on one night. */
import { describe, expect, it } from 'vitest';
import { awayChoices, type Known } from '../../src/domain/absence';
import { oneTimetable, type Due } from '../../src/domain/together';
import { timetables } from '../../src/pages/timetable';
import { forecast, holding, night, record } from './records';

const dated = (day: number, saved: number) => night(`2026-11-${day}`, saved);
const over = { eggs: 0, eyed: 0, held_young: 0.01, releasing: 0.01, released: 0.95, lost: 0.03 };
const plan = (way: string, day: number, saved: number) => ({ way, night: `2026-11-${day}`, at: `2026-11-${day}T21:30:00.000Z`, saved });

describe('away', () => {
  const nights = [dated(25, 0.6), dated(26, 0.7), dated(27, 0.8), dated(28, 0.72), { ...dated(29, 0.1), ...over }];
  const known: Known = { nights, catch: nights[2]!, plans: [plan('net', 27, 0.76), plan('ahead', 25, 0.65)] };
  const ways = (of: Known, from: number, to: number) => awayChoices(of, { from: `2026-11-${from}`, to: `2026-11-${to}` });

  it('weighs every choice, tries that fail counted in, what saves most first', () => {
    expect(ways(known, 27, 28).map(({ way, night: on, saved }) => [way, on, saved && Number(saved.toFixed(3))])).toEqual([
      ['hand_over', '2026-11-27', 0.76], ['catch', '2026-11-26', 0.665], ['ahead', '2026-11-25', 0.65], ['accept', null, 0.1],
    ]);
  });

  it('takes the best night on either side, and none where all are away', () => {
    expect(ways(known, 26, 27).find((one) => one.way === 'catch')?.night).toBe('2026-11-28');
    expect(ways(known, 20, 30).some((one) => one.way === 'catch')).toBe(false);
  });

  it('says where the evening for moving him lies within the nights away', () => {
    expect(ways(known, 25, 27).find((one) => one.way === 'ahead')).toMatchObject({ isWithin: true });
    expect(ways(known, 26, 27).find((one) => one.way === 'ahead')).toMatchObject({ isWithin: false });
  });

  it('has nothing to arrange where the night to catch is not touched', () => {
    expect(ways(known, 25, 26)).toEqual([]);
    expect(ways({ ...known, catch: null }, 25, 30)).toEqual([]);
  });

  it('does not know what doing nothing saves while he may hold to the end of the table, and says so last', () => {
    expect(ways({ ...known, nights: nights.slice(0, 4), plans: [] }, 27, 27).at(-1)).toEqual({ way: 'accept', night: null, at: null, saved: null, isWithin: false });
  });
});

describe('two males due close together', () => {
  const due = (brood: string, own: number, saved: readonly number[]): Due => ({ brood, ownNight: `2026-11-${own}`, nights: saved.map((share, i) => dated(25 + i, share)) });

  it('get one night where both together lose under 3 in 100', () => {
    const [pair] = oneTimetable([due('a', 26, [0.6, 0.8, 0.79]), due('b', 27, [0.5, 0.68, 0.7])]);
    expect(pair).toMatchObject({ night: '2026-11-27', males: [{ brood: 'a', ownNight: '2026-11-26' }, { brood: 'b', ownNight: '2026-11-27' }] });
    expect(pair?.cost).toBeCloseTo(0.01, 9);
  });

  it('keep their own where it costs more, or where no night is shared', () => {
    expect(oneTimetable([due('a', 25, [0.8, 0.78]), due('b', 26, [0.74, 0.76])]).length).toBe(1);
    expect(oneTimetable([due('a', 25, [0.8, 0.77]), due('b', 26, [0.7, 0.76])])).toEqual([]);
    expect(oneTimetable([due('a', 25, [0.8]), { ...due('b', 29, []), nights: [dated(29, 0.8)] }])).toEqual([]);
  });

  it('are each in one pair at most, the cheapest first', () => {
    const pairs = oneTimetable([due('a', 25, [0.8, 0.79]), due('b', 26, [0.75, 0.76]), due('c', 25, [0.7, 0.6])]);
    expect(pairs.map(({ males }) => males.map(({ brood }) => brood).join())).toEqual(['a,c']);
  });

  it('are read from what came down, without nights that are over', () => {
    const rows = [dated(24, 0.9), dated(25, 0.7), dated(26, 0.69)];
    const male = (name: string) => holding({ brood: record('brood', { about: name }), forecast: forecast({ nights: rows, catch: rows[1]! }) });
    expect(timetables([male('a'), male('b')], new Date('2026-11-25T15:00:00Z'))).toMatchObject([{ night: '2026-11-25', cost: 0 }]);
    expect(timetables([male('a'), holding({ forecast: forecast({ catch: null }) })], new Date('2026-11-25T15:00:00Z'))).toEqual([]);
  });
});
