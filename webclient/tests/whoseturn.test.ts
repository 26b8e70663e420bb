/** Whose turn it is: the same days and kinds as on the server. */
import { readFileSync } from 'node:fs';
import { describe, expect, it, test } from 'vitest';
import { daysIn, weekdayOf, whoseTurn, type Turn } from '../src/domain/turns';

interface Vectors { weekdays: { date: string; day: string }[]; in_turn: string[]; at_once: string[] }
// The server's tests read the same.
const VECTORS = JSON.parse(readFileSync(new URL('../../tests/turn_vectors.json', import.meta.url), 'utf8')) as Vectors;

// A Wednesday.
const NIGHT = '2026-11-25';
const TURNS: readonly Turn[] = [{ person: 'jonas', days: ['MO', 'WE'] }, { person: 'tove', days: ['TH'] }];

test.each(VECTORS.weekdays)('$date is a $day', ({ date, day }) => {
  expect(weekdayOf(date)).toBe(day);
});

test.each(VECTORS.in_turn)('%s is asked first of whoever has the day of its night', (kind) => {
  expect(whoseTurn({ kind, night: NIGHT }, TURNS)).toEqual(['jonas']);
  expect(whoseTurn({ kind, night: '2026-11-26' }, TURNS)).toEqual(['tove']);
  expect(whoseTurn({ kind, night: '2026-11-27' }, TURNS)).toEqual([]);
});

test.each(VECTORS.at_once)('%s is everybody’s at once, whosever day it is', (kind) => {
  expect(whoseTurn({ kind, night: NIGHT }, TURNS)).toEqual([]);
});

describe('a turn', () => {
  it('may be of several people on one day, and is nobody’s for a duty without a night', () => {
    const both = [...TURNS, { person: 'mira', days: ['WE'] as const }];
    expect(whoseTurn({ kind: 'catch_tonight', night: NIGHT }, both)).toEqual(['jonas', 'mira']);
    expect(whoseTurn({ kind: 'catch_tonight', night: null }, both)).toEqual([]);
  });

  it('is read from any lists of days, each day once and Monday first', () => {
    expect(daysIn(['TH,TU', 'MO,TU'])).toEqual(['MO', 'TU', 'TH']);
    expect(daysIn(['', null])).toEqual([]);
    // A day that a later version may name is no day here, and hides no other.
    expect(daysIn(['TU,1FR'])).toEqual(['TU']);
  });
});
