/** The assumptions on which a night depends, in words; no number of a profile that has a range is without them. */
import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { restsOn, valueWords } from '../../src/pages/belief/assumed';
import { numbers, numbersOf } from '../../src/texts/en/numbers';
import { IN_THE_MOUTH, NEST } from '../../src/domain/ways';
import { METRIC } from '../../src/domain/units';
import { dayName } from '../../src/ui/dates';

const PROFILES = new URL('../../../server/holdwatch/profiles/', import.meta.url);

/** The dotted names of the numbers that have a range, as the server gives them: rows of a list by their place. */
function ranged(text: string): string[] {
  const rows = new Map<string, number>();
  let section = '';
  return text.split('\n').flatMap((line) => {
    const [, list, table] = /^\[\[(.+)\]\]|^\[(.+)\]/.exec(line) ?? [];
    if (list) rows.set(list, (rows.get(list) ?? -1) + 1);
    section = list ? `${list}.${rows.get(list)}` : (table ?? section);
    const [, name] = /^(\w+) = \{.*\brange = \[/.exec(line) ?? [];
    return name ? [`${section}.${name}`] : [];
  });
}

describe('the catalogue of numbers', () => {
  const files = readdirSync(PROFILES).filter((name) => name.endsWith('.toml'));
  const names = new Set(files.flatMap((name) => ranged(readFileSync(new URL(name, PROFILES), 'utf8'))));

  it('has words for each that has a range, and for no other', () => {
    expect(files.length).toBeGreaterThan(0);
    expect(names).toContain('mouth.kinds.1.share');
    expect(Object.keys(numbers).sort()).toEqual([...names].sort());
  });

  it('says each once', () => {
    for (const words of Object.values(numbersOf)) {
      const said = Object.values(words).map(({ what }) => what);
      expect(new Set(said).size).toBe(said.length);
    }
  });
});

describe('what the night rests on', () => {
  const one = { name: 'development.silver_share', value: 0.75, unit: 'share', source: 'assumption', low: 0.65, high: 0.85, night_at_low: '2026-11-28', night_at_high: null };

  it('is said with value, range, source and the night at either end', () => {
    const { says, all } = restsOn({ night: '2026-11-27', depends_on: [one] }, IN_THE_MOUTH, METRIC);
    expect(says).toBe(`One assumption could make it another night than ${dayName('2026-11-27')}:`);
    expect(all).toMatchObject([{ value: 'Taken as 75 %; it may be 65 % to 85 %.', ends: `At 65 %: ${dayName('2026-11-28')}. At 85 %: no night.`, source: 'Source: nobody has published it; it is our assumption.' }]);
  });

  it('is no single assumption where none would change it', () => {
    expect(restsOn({ night: '2026-11-27', depends_on: [] }, NEST, METRIC)).toEqual({ says: 'The night does not depend on any single assumption.', all: [] });
  });

  it('is told in the measure of each number, and in the unit of this device', () => {
    const said = (name: string, value: number, temperature: 'C' | 'F' = 'C') => valueWords(name, value, '', { ...METRIC, temperature });
    expect(said('development.q10', 2.4)).toBe('2.4 times as fast 10 °C warmer');
    expect(said('development.q10', 2.4, 'F')).toBe('2.4 times as fast 18 °F warmer');
    expect(said('development.thermometer_spread_c', 0.5, 'F')).toBe('± 0.9 °F');
    expect(said('development.hatch_spread_books', 0.06)).toBe('± 6.2 %');
    expect(said('held.young_gain_days', 1)).toBe('1 day');
  });
});
