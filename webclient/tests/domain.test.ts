/** The pure part: nights in a time zone, the grid of a forecast. */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { chancesAt, type GridRow } from '../src/domain/forecast';
import { areLampsLit, dateIn, instantIn, lampsOn, lampsOut, nextLampChange, nightOf } from '../src/domain/nights';

const BERLIN = { zone: 'Europe/Berlin', out: '21:30', on: '09:00' };
const at = (text: string) => new Date(text);

interface Vector { why: string; zone: string; lamps_out: string; lamps_on: string; at: string; night: string; out: string; on: string }
// The server's tests read the same.
const VECTORS = JSON.parse(readFileSync(new URL('../../tests/night_vectors.json', import.meta.url), 'utf8')) as { nights: Vector[] };

test.each(VECTORS.nights)('the night of an instant, as on the server: $why', (vector) => {
  const lamps = { zone: vector.zone, out: vector.lamps_out, on: vector.lamps_on };
  expect(nightOf(lamps, at(vector.at))).toBe(vector.night);
  expect(lampsOut(lamps, vector.night)).toEqual(at(vector.out));
  expect(lampsOn(lamps, vector.night)).toEqual(at(vector.on));
});

test('a lamps-out at noon itself is the next day, for the night is the first such time after noon', () => {
  expect(lampsOut({ ...BERLIN, out: '12:00' }, '2026-11-25').toISOString()).toBe('2026-11-26T11:00:00.000Z');
});

// Europe/Berlin changes at 01:00 UTC on 29 March and 25 October 2026 (Directive 2000/84/EC).
test('a local time that does not exist has the offset before the change', () => {
  expect(instantIn('Europe/Berlin', '2026-03-29', '02:30').toISOString()).toBe('2026-03-29T01:30:00.000Z');
});

test('a local time that exists twice is the first', () => {
  expect(instantIn('Europe/Berlin', '2026-10-25', '02:30').toISOString()).toBe('2026-10-25T00:30:00.000Z');
});

test.each(['Europe/Berlin', 'Australia/Lord_Howe', 'America/Santiago', 'Africa/Casablanca', 'Asia/Kathmandu'])('the date in %s is what a calendar there shows, hour by hour through a year', (zone) => {
  const calendar = new Intl.DateTimeFormat('en-CA', { timeZone: zone, year: 'numeric', month: '2-digit', day: '2-digit' });
  const wrong: string[] = [];
  for (let ms = Date.UTC(2026, 0, 1); ms < Date.UTC(2027, 0, 1); ms += 3_600_000) {
    if (dateIn(zone, new Date(ms)) !== calendar.format(ms)) wrong.push(new Date(ms).toISOString());
  }
  expect(wrong).toEqual([]);
});

test('zones south, half hours off, and change at midnight are no different', () => {
  expect(instantIn('Australia/Lord_Howe', '2026-01-15', '21:00').toISOString()).toBe('2026-01-15T10:00:00.000Z');
  expect(instantIn('Asia/Kolkata', '2026-06-01', '00:00').toISOString()).toBe('2026-05-31T18:30:00.000Z');
  expect(instantIn('America/Santiago', '2026-09-06', '00:30').toISOString()).toBe('2026-09-06T04:30:00.000Z');
  expect(instantIn('UTC', '2026-02-28', '23:59').toISOString()).toBe('2026-02-28T23:59:00.000Z');
});

test('lamps are lit from lamps-on to lamps-out, and the next change is told', () => {
  expect(areLampsLit(BERLIN, at('2026-11-25T08:00:00Z'))).toBe(true);
  expect(areLampsLit(BERLIN, at('2026-11-25T20:29:59Z'))).toBe(true);
  expect(areLampsLit(BERLIN, at('2026-11-25T20:30:00Z'))).toBe(false);
  expect(areLampsLit(BERLIN, at('2026-11-26T07:59:59Z'))).toBe(false);
  expect(nextLampChange(BERLIN, at('2026-11-25T12:00:00Z')).toISOString()).toBe('2026-11-25T20:30:00.000Z');
  expect(nextLampChange(BERLIN, at('2026-11-25T20:30:00Z')).toISOString()).toBe('2026-11-26T08:00:00.000Z');
});

test('each change of the lamps leads to the next one, over a year with both change days', () => {
  let now = at('2026-01-01T00:00:00Z');
  let lit = areLampsLit(BERLIN, now);
  let changes = 0;
  while (now < at('2027-01-01T00:00:00Z')) {
    const next = nextLampChange(BERLIN, now);
    expect(next.getTime()).toBeGreaterThan(now.getTime());
    expect(areLampsLit(BERLIN, next)).toBe(!lit);
    [now, lit, changes] = [next, !lit, changes + 1];
  }
  expect(changes).toBe(2 * 365 + 1);
});

const row = (time: string, eggs: number): GridRow => ({ at: time, eggs, eyed: 1 - eggs, held_young: 0, releasing: 0, released: 0, lost: 0 });
const GRID = [row('2026-11-25T18:00:00Z', 1), row('2026-11-26T00:00:00Z', 0.4), row('2026-11-26T06:00:00Z', 0)];

test('chances between two rows of the grid lie on the line between them', () => {
  expect(chancesAt(GRID, at('2026-11-25T19:30:00Z'))?.eggs).toBeCloseTo(0.85, 12);
  expect(chancesAt(GRID, at('2026-11-25T19:30:00Z'))?.eyed).toBeCloseTo(0.15, 12);
  expect(chancesAt(GRID, at('2026-11-26T00:00:00Z'))?.eggs).toBe(0.4);
});

test('a grid says nothing of the time before its first row and after its last', () => {
  expect(chancesAt(GRID, at('2026-11-25T17:59:59Z'))).toBeNull();
  expect(chancesAt(GRID, at('2026-11-25T18:00:00Z'))?.eggs).toBe(1);
  expect(chancesAt(GRID, at('2026-11-26T06:00:00Z'))?.eggs).toBe(0);
  expect(chancesAt(GRID, at('2026-11-26T06:00:01Z'))).toBeNull();
  expect(chancesAt([], at('2026-11-26T06:00:01Z'))).toBeNull();
});
