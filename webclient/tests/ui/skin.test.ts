/** The skin follows the lamps, a choice by hand holds until they next change, and a wet finger counts once. */
import { describe, expect, it } from 'vitest';
import { lampsOf, skinSteps } from '../../src/pages/lamps';
import type { Rec } from '../../src/store';
import { hereZone } from '../../src/ui/dates';
import { isSecondContact } from '../../src/ui/contact';
import { FRESH, byLamps, dimmed, settled, switched } from '../../src/ui/skin';

const HALL = { zone: 'Europe/Copenhagen', out: '21:30', on: '08:30' };
const LATE = { zone: 'Europe/Copenhagen', out: '23:00', on: '10:00' };
const at = (text: string): Date => new Date(text);

it('a zone that this device does not know leaves its own hours, and no page stands still', () => {
  const tank = (zone: string) => ({ fields: { zone, lamps_out: '21:30', lamps_on: '08:30' } }) as unknown as Rec;
  expect(lampsOf(tank('Europe/Copenhagen'))).toEqual(HALL);
  expect(lampsOf(tank('Europe/Atlantis'))).toEqual({ ...HALL, zone: hereZone() });
});

describe('the skin', () => {
  it('turns red when the lamps go out and back when they come on', () => {
    const steps = skinSteps([HALL], at('2026-11-25T12:00:00Z'));
    expect(byLamps(steps, Date.parse('2026-11-25T20:29:00Z'))).toBe('day');
    expect(byLamps(steps, Date.parse('2026-11-25T20:30:00Z'))).toBe('night');
    expect(byLamps(steps, Date.parse('2026-11-26T07:30:00Z'))).toBe('day');
  });

  it('is red as soon as one of two tanks is dark, and until both are lit', () => {
    const steps = skinSteps([HALL, LATE], at('2026-11-25T12:00:00Z'));
    expect(byLamps(steps, Date.parse('2026-11-25T20:45:00Z'))).toBe('night');
    expect(byLamps(steps, Date.parse('2026-11-26T08:30:00Z'))).toBe('night');
    expect(byLamps(steps, Date.parse('2026-11-26T09:00:00Z'))).toBe('day');
  });

  it('knows the changes of the coming fortnight, also over the change of the clocks', () => {
    const steps = skinSteps([HALL], at('2026-10-20T12:00:00Z'));
    expect(steps.at(-1)?.[0]).toBeGreaterThan(Date.parse('2026-11-03T00:00:00Z') - 86_400_000);
    // On 25 October clocks go back: 21:30 is 19:30 UTC before and 20:30 UTC after.
    expect(steps.map(([ms]) => new Date(ms).toISOString())).toContain('2026-10-24T19:30:00.000Z');
    expect(steps.map(([ms]) => new Date(ms).toISOString())).toContain('2026-10-25T20:30:00.000Z');
  });

  it('stays as chosen by hand until the lamps next change', () => {
    const noon = Date.parse('2026-11-25T12:00:00Z');
    const kept = switched(settled({ ...FRESH, steps: skinSteps([HALL], new Date(noon)) }, noon), noon);
    expect(settled(kept, Date.parse('2026-11-25T20:00:00Z')).skin).toBe('night');
    expect(settled(kept, Date.parse('2026-11-25T21:00:00Z'))).toMatchObject({ skin: 'night', chosen: false });
    expect(settled(kept, Date.parse('2026-11-26T08:00:00Z')).skin).toBe('day');
  });

  it('dims in three steps, round and round', () => {
    expect([dimmed(FRESH), dimmed(dimmed(FRESH)), dimmed(dimmed(dimmed(FRESH)))].map((kept) => kept.dim)).toEqual([1, 2, 0]);
  });
});

describe('a second contact', () => {
  it('is ignored within 250 ms and counts from then on', () => {
    expect(isSecondContact(1000, 1249)).toBe(true);
    expect(isSecondContact(1000, 1250)).toBe(false);
    expect(isSecondContact(null, 5)).toBe(false);
  });
});
