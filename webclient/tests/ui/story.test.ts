/** The story of a brood: gaps that may be filled, the line of time, a male that is entered. */
import { describe, expect, it } from 'vitest';
import { endedAt, endingOf, forecastIn } from '../../src/pages/holding';
import { broodBounds } from '../../src/pages/maledraft';
import { gapsOf, nightsInTable, recalledLook, shareWords, sights, stepWords, stepsOf, storySpan } from '../../src/pages/story';
import { routeOf } from '../../src/routes';
import { dayName } from '../../src/ui/dates';
import { forecast, holding, night, record } from './records';

const full = (at: string, more: object = {}) => record('look', { at, mouth: 'full', ...more });
const LAMPS = { zone: 'Europe/Copenhagen', out: '21:30', on: '08:30' };

describe('a gap', () => {
  const [before, after] = [full('2026-11-10T20:00:00.000Z'), full('2026-11-16T20:00:00.000Z')];
  it('lies between two looks that found him full, days apart', () => {
    expect(gapsOf([before, after])).toMatchObject([{ days: 5 }]);
    expect(gapsOf([before, full('2026-11-12T20:00:00.000Z')])).toEqual([]);
    expect(gapsOf([before, record('look', { at: '2026-11-16T20:00:00.000Z', mouth: 'normal' })])).toEqual([]);
  });

  it('is filled by one recalled look at its middle, as far off as half of it', () => {
    const [gap] = gapsOf([before, after]);
    const look = recalledLook('brood', gap!);
    expect(look).toMatchObject({ at: '2026-11-13T20:00:00.000Z', at_error_min: 3 * 1440, mouth: 'full', recalled: true });
    expect(gapsOf([before, full(String(look['at']), { recalled: true }), after])).toEqual([]);
  });
});

describe('the line of time', () => {
  it('holds every step and look and the present', () => {
    const one = holding({ looks: [full('2026-11-08T18:00:00.000Z')] });
    const [from, to] = storySpan(stepsOf(one), one.looks, new Date('2026-11-25T20:00:00Z'));
    expect(from.getTime()).toBeLessThan(Date.parse('2026-11-04T19:00:00Z'));
    expect(to.getTime()).toBeGreaterThan(Date.parse('2026-12-04T12:00:00Z'));
  });

  it('ends where the story ended, by what was said or by the catch', () => {
    const caught = holding({ marks: [record('mark', { what: 'caught', at: '2026-11-27T21:40:00.000Z' })] });
    const lost = holding({ brood: record('brood', { ended: 'lost', ended_at: '2026-11-12T10:00:00.000Z' }) });
    expect([endedAt(caught), endingOf(caught)]).toEqual([new Date('2026-11-27T21:40:00Z'), 'caught']);
    expect([endedAt(lost), endingOf(lost)]).toEqual([new Date('2026-11-12T10:00:00Z'), 'lost']);
    expect([endedAt(holding()), endingOf(holding())]).toEqual([null, null]);
  });

  it('has no steps for a brood that was over before it was ever worked out', () => {
    const body = { brood: 'brood', ended: 'lost', nights: [], grid: [], catch: null };
    expect(stepsOf(holding({ forecast: forecastIn(body) }))).toEqual([]);
    expect(forecastIn(forecast())).toEqual(forecast());
  });

  it('says each step in words', () => {
    const hatched = stepsOf(holding()).find((step) => step.name === 'hatched')!;
    expect(stepWords(hatched, 'Europe/Copenhagen')).toBe(`Hatched: about ${dayName('2026-11-25')}, nine times in ten between ${dayName('2026-11-23')} and ${dayName('2026-11-27')}.`);
  });

  it('shows a part only where it was seen', () => {
    expect(sights([full('2026-11-08T18:00:00.000Z'), record('look', { at: '2026-11-09T18:00:00.000Z', tails: 'seen' })], 'tails')).toHaveLength(1);
  });
});

describe('the table of nights', () => {
  const nights = Array.from({ length: 21 }, (_, i) => night(`2026-12-${String(i + 1).padStart(2, '0')}`, 0.5));
  it('runs over a fortnight, and on past the night to catch where that comes later', () => {
    expect(nightsInTable(nights, '2026-12-03')).toHaveLength(14);
    expect(nightsInTable(nights, null)).toHaveLength(14);
    expect(nightsInTable(nights, '2026-12-15').at(-1)?.night).toBe('2026-12-18');
    expect(nightsInTable(nights, '2026-12-21')).toHaveLength(21);
  });

  it('claims neither 0 nor 100', () => {
    expect([0.001, 0.334, 0.999].map(shareWords)).toEqual(['<1', '33', '>99']);
  });
});

describe('a male that holds', () => {
  const draft = { fish: 'fish-1', name: '', spot: '', species: 'pterapogon_kauderni', tank: 'tank-1', hasReleased: false, holds: true, fullDaysAgo: 2, emptyDaysAgo: 4 };
  it('took them up between the day he was surely empty and the day he was seen full', () => {
    const bounds = broodBounds(draft, LAMPS, new Date('2026-11-25T20:00:00Z'));
    expect(bounds).toEqual({ not_before: '2026-11-20T23:00:00.000Z', not_after: '2026-11-23T23:00:00.000Z' });
  });

  it('has no earliest instant where nobody knows', () => {
    expect(broodBounds({ ...draft, emptyDaysAgo: null, fullDaysAgo: 0 }, LAMPS, new Date('2026-11-25T20:00:00Z'))).toEqual({ not_before: null, not_after: '2026-11-25T20:00:00.000Z' });
  });
});

describe('an address', () => {
  it('leads to its page, and an unknown one to a page that says so', () => {
    expect(routeOf('/look/01a1-7c').id).toBe('01a1-7c');
    expect(routeOf('/brood/01a1')).toMatchObject({ name: 'brood', destination: 'broods' });
    expect(routeOf('/start').name).toBe('start');
    expect(routeOf('/nursery')).toMatchObject({ name: 'nursery', id: null, destination: 'nursery' });
    expect(routeOf('/nursery/new/01a1')).toMatchObject({ name: 'newBatch', id: '01a1' });
    expect(routeOf('/nursery/new')).toMatchObject({ name: 'newBatch', id: null });
    expect(routeOf('/nursery/01b2')).toMatchObject({ name: 'batch', id: '01b2', destination: 'nursery' });
    expect(routeOf('/fish').name).toBe('nowhere');
  });
});
