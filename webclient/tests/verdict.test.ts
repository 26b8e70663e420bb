import { describe, expect, it } from 'vitest';
import type { ForetoldFinding, ForetoldLook } from '../src/domain/verdict';
import { verdictOf } from '../src/domain/verdict';

const LAMPS = { zone: 'Europe/Copenhagen', out: '21:30', on: '08:30' };
const NOTHING = { eggs: 0, eyed: 0, held_young: 0, releasing: 0, released: 0, lost: 0 };
const finding = (part: string, value: string, likelihood: number, chances: Partial<ForetoldFinding>): ForetoldFinding => ({
  ...NOTHING, part, value, likelihood, ...chances,
});
const tonight: ForetoldLook<ForetoldFinding> = {
  night: '2026-11-25', at: '2026-11-25T22:00:00+01:00', light: 'red',
  findings: [
    finding('mouth', 'full', 0.9, { eyed: 0.5, held_young: 0.5 }),
    finding('mouth', 'normal', 0.1, { released: 0.6, lost: 0.4 }),
    finding('tails', 'seen', 0.3, { held_young: 0.95, eyed: 0.05 }),
    finding('tails', 'none', 0.7, { held_young: 0.3, eyed: 0.7 }),
  ],
};
const feeding: ForetoldLook<ForetoldFinding> = {
  night: '2026-11-25', at: '2026-11-25T19:30:00+01:00', light: 'daylight',
  findings: [finding('tails', 'seen', 0.3, { held_young: 0.99 }), finding('tails', 'none', 0.7, { eyed: 0.7, held_young: 0.3 })],
};
const at = (text: string): Date => new Date(text);

describe('the verdict at the glass', () => {
  it('is that of the part that says most', () => {
    const verdict = verdictOf([feeding, tonight], { mouth: 'full', tails: 'seen' }, false, at('2026-11-25T22:40:00+01:00'), LAMPS);
    expect([verdict?.part, verdict?.value]).toEqual(['tails', 'seen']);
  });
  it('of a mouth that is normal amid everything else is the mouth', () => {
    const verdict = verdictOf([tonight], { mouth: 'normal', tails: 'none' }, false, at('2026-11-25T22:40:00+01:00'), LAMPS);
    expect(verdict?.part).toBe('mouth');
  });
  it('follows the light: the feeding in colour, the night under red', () => {
    const seen = { tails: 'seen' };
    expect(verdictOf([feeding, tonight], seen, true, at('2026-11-25T19:00:00+01:00'), LAMPS)?.held_young).toBe(0.99);
    expect(verdictOf([feeding, tonight], seen, false, at('2026-11-25T22:10:00+01:00'), LAMPS)?.held_young).toBe(0.95);
  });
  it('holds after midnight, when tonight is the evening that began', () => {
    expect(verdictOf([tonight], { tails: 'none' }, false, at('2026-11-26T01:30:00+01:00'), LAMPS)?.value).toBe('none');
  });
  it('is none where nothing was foretold: another night, another part, nothing seen', () => {
    expect(verdictOf([tonight], { tails: 'none' }, false, at('2026-11-28T22:00:00+01:00'), LAMPS)).toBeNull();
    expect(verdictOf([tonight], { eggs: 'silver' }, false, at('2026-11-25T22:00:00+01:00'), LAMPS)).toBeNull();
    expect(verdictOf([tonight], {}, false, at('2026-11-25T22:00:00+01:00'), LAMPS)).toBeNull();
    expect(verdictOf([], { tails: 'none' }, false, at('2026-11-25T22:00:00+01:00'), LAMPS)).toBeNull();
  });
});
