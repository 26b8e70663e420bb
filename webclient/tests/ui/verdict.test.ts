import { describe, expect, it } from 'vitest';
import type { Finding, Forecast } from '../../src/pages/derived';
import { verdictWords } from '../../src/pages/verdict';
import { dayName } from '../../src/ui/dates';

const LAMPS = { zone: 'Europe/Copenhagen', out: '21:30', on: '08:30' };
const AT = new Date('2026-11-25T22:10:00+01:00');
const night = (date: string) => ({ night: date, at: `${date}T22:30:00+01:00`, saved: 0.6 });
const finding = (value: string, held: number, to: string | null): Finding => ({
  part: 'tails', value, likelihood: 0.5, eggs: 0, eyed: 1 - held, held_young: held, releasing: 0, released: 0, lost: 0, catch: to ? night(to) : null,
});

function forecast(to: string | null, findings: Finding[]): Forecast {
  const look = { night: '2026-11-25', at: '2026-11-25T22:00:00+01:00', light: 'red', findings };
  return { catch: to ? night(to) : null, if_seen: [look] } as unknown as Forecast;
}
const words = (from: string | null, seen: Finding) => verdictWords(forecast(from, [seen, finding('perhaps', 0.5, from)]), { tails: seen.value }, 'red', AT, LAMPS);

describe('the verdict at the glass, in words', () => {
  it('says what is inside and that the night moves', () => {
    expect(words('2026-11-27', finding('seen', 0.9, '2026-11-25'))).toBe(
      `Probably hatched (90\u202f%), still in his mouth. Catch: tonight instead of ${dayName('2026-11-27')}, until the server has worked it out.`,
    );
  });
  it('says that the night stays', () => {
    expect(words('2026-11-25', finding('none', 0.3, '2026-11-25'))).toContain('Catch: tonight, as before');
  });
  it('says that there is no night, newly or still', () => {
    expect(words('2026-11-25', finding('none', 0.3, null))).toContain('No night to catch any more');
    expect(words(null, finding('none', 0.3, null))).toMatch(/No night to catch, until/);
  });
  it('is silent where a forecast of an older server foretold nothing, and without one', () => {
    expect(verdictWords({ catch: null } as unknown as Forecast, { tails: 'seen' }, 'red', AT, LAMPS)).toBeNull();
    expect(verdictWords(null, { tails: 'seen' }, 'red', AT, LAMPS)).toBeNull();
  });
});
