/** A look that is being logged: the light by the lamps, what is asked in it, and when it was. */
import { describe, expect, it } from 'vitest';
import { EMPTY, askedParts, lightOf, lookFields, movedTime, otherStart, whenOf } from '../../src/pages/lookdraft';

const LAMPS = { zone: 'Europe/Copenhagen', out: '21:30', on: '08:30' };
const NOON = new Date('2026-11-25T11:00:00Z');
const EVENING = new Date('2026-11-25T21:10:00Z');
const AFTER_MIDNIGHT = new Date('2026-11-25T23:40:00Z');

describe('the light of a look', () => {
  it('is that of the lamps, until another is chosen', () => {
    expect(lightOf(EMPTY, LAMPS, NOON)).toBe('daylight');
    expect(lightOf(EMPTY, LAMPS, EVENING)).toBe('red');
    expect(lightOf({ ...EMPTY, light: 'torch' }, LAMPS, EVENING)).toBe('torch');
  });

  it('hides the question of colour where orange and silver look alike', () => {
    for (const light of ['red', 'blue', 'none'] as const) expect(askedParts({ ...EMPTY, light }, LAMPS, NOON)).not.toContain('eggs');
    expect(askedParts({ ...EMPTY, light: 'dim_white' }, LAMPS, NOON)).toContain('eggs');
  });

  it('asks for food only while the lamps are lit', () => {
    expect(askedParts(EMPTY, LAMPS, NOON)).toContain('food');
    expect(askedParts({ ...EMPTY, light: 'daylight' }, LAMPS, EVENING)).not.toContain('food');
  });
});

describe('when a look was', () => {
  it('is now to the minute', () => {
    expect(whenOf(EMPTY, LAMPS, EVENING)).toEqual({ at: EVENING, errorMin: 0 });
  });

  it('at feeding is before the lamps go out, and never in the future', () => {
    expect(whenOf({ ...EMPTY, when: 'feeding' }, LAMPS, EVENING).at.toISOString()).toBe('2026-11-25T18:30:00.000Z');
    expect(whenOf({ ...EMPTY, when: 'feeding' }, LAMPS, NOON).at).toEqual(NOON);
  });

  it('last evening is the one before the evening that began, also after midnight', () => {
    expect(whenOf({ ...EMPTY, when: 'evening' }, LAMPS, NOON).at.toISOString()).toBe('2026-11-24T21:30:00.000Z');
    expect(whenOf({ ...EMPTY, when: 'evening' }, LAMPS, AFTER_MIDNIGHT).at.toISOString()).toBe('2026-11-24T21:30:00.000Z');
  });

  it('another time moves by steps and stops at now', () => {
    expect(otherStart(EVENING).toISOString()).toBe('2026-11-25T20:00:00.000Z');
    expect(movedTime(EVENING, 15, EVENING)).toEqual(EVENING);
    expect(movedTime(EVENING, -1440, EVENING).toISOString()).toBe('2026-11-24T21:10:00.000Z');
  });
});

describe('the record of a look', () => {
  it('holds what was asked and seen, and leaves out what its light hides', () => {
    const draft = { ...EMPTY, about: 'brood-1', seen: { mouth: 'full', eggs: 'silver', tails: 'none' } };
    expect(lookFields(draft, LAMPS, EVENING)).toEqual({ about: 'brood-1', at: EVENING.toISOString(), at_error_min: 0, light: 'red', mouth: 'full', tails: 'none' });
    expect(lookFields(draft, LAMPS, NOON)).toMatchObject({ light: 'daylight', eggs: 'silver' });
  });
});
