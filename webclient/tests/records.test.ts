/** Records: merging and stamps on the vectors that the server's tests read too, and ids. */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { deviceName, uuid7 } from '../src/records/ids';
import { instantMs, instantText } from '../src/records/instants';
import { canonical, type Json } from '../src/records/json';
import { merge, type StampedFields } from '../src/records/merge';
import { later, nextStamp, stampMs } from '../src/records/stamps';
import { seeded } from './machine/world';

interface Vectors {
  ticks: { why: string; latest: string | null; clock_ms: number; device: string; stamp: string }[];
  merge: { why: string; one: StampedFields; other: StampedFields; merged: StampedFields }[];
  canonical: { value: Json; text: string }[];
}
const VECTORS = JSON.parse(readFileSync(new URL('../../tests/merge_vectors.json', import.meta.url), 'utf8')) as Vectors;

function texts(fields: StampedFields) {
  return Object.fromEntries(Object.entries(fields).map(([name, { value, stamp }]) => [name, [stamp, canonical(value)]]));
}

test.each(VECTORS.merge)('merging agrees with the shared vectors: $why', ({ one, other, merged }) => {
  expect(texts(merge(one, other))).toEqual(texts(merged));
  expect(texts(merge(other, one))).toEqual(texts(merged));
  expect(texts(merge(merged, one))).toEqual(texts(merged));
});

test.each(VECTORS.ticks)('ticking agrees with the shared vectors: $why', ({ latest, clock_ms, device, stamp }) => {
  expect(nextStamp(latest, clock_ms, device)).toBe(stamp);
});

test.each(VECTORS.canonical)('the one text of a value agrees with the shared vectors: $text', ({ value, text }) => {
  expect(canonical(value)).toBe(text);
});

test('what JSON cannot say has no text', () => {
  expect(() => canonical(Number.NaN)).toThrow(RangeError);
  expect(() => canonical({ x: [Number.POSITIVE_INFINITY] })).toThrow(RangeError);
});

test('merging is commutative and associative whatever meets', () => {
  const random = seeded(11);
  const pick = <T>(from: readonly T[]) => from[(random(1)[0] as number) % from.length] as T;
  const field = () => ({
    value: pick<Json>([null, true, 1, 1.5, 'full', '\u{1F41F}', '\uFFFD']),
    stamp: `176406180000${pick(['0', '1'])}.000${pick(['0', '1'])}.${pick(['ab12cd34', 'zz99zz99'])}`,
  });
  const copy = () => Object.fromEntries(['mouth', 'food', 'note'].map((name) => [name, field()]).slice((random(1)[0] as number) % 3));
  for (let i = 0; i < 500; i += 1) {
    const [a, b, c] = [copy(), copy(), copy()];
    expect(texts(merge(a, b))).toEqual(texts(merge(b, a)));
    expect(texts(merge(merge(a, b), c))).toEqual(texts(merge(a, merge(b, c))));
  }
});

test('a stamp follows the clock, and the last stamp where the clock stands or runs back', () => {
  const first = nextStamp(null, 1_764_061_800_000, 'ab12cd34');
  expect(first).toBe('1764061800000.0000.ab12cd34');
  expect(nextStamp(first, 1_764_061_800_000, 'ab12cd34')).toBe('1764061800000.0001.ab12cd34');
  expect(nextStamp(first, 1_600_000_000_000, 'ab12cd34')).toBe('1764061800000.0001.ab12cd34');
  expect(nextStamp(first, 1_764_061_800_001, 'ab12cd34')).toBe('1764061800001.0000.ab12cd34');
});

test('a full counter borrows the next millisecond', () => {
  expect(nextStamp('1764061800000.ffff.ab12cd34', 0, 'ab12cd34')).toBe('1764061800001.0000.ab12cd34');
  expect(nextStamp('1764061800000.00ff.ab12cd34', 0, 'ab12cd34')).toBe('1764061800000.0100.ab12cd34');
});

test('the later of two stamps is the greater text, and any stamp is later than none', () => {
  expect(later('1764061800000.0000.zz12cd34', '1764061800000.0001.ab12cd34')).toBe('1764061800000.0001.ab12cd34');
  expect(later(null, '1764061800000.0000.ab12cd34')).toBe('1764061800000.0000.ab12cd34');
  expect(later(null, null)).toBeNull();
  expect(stampMs('1764061800000.0000.ab12cd34')).toBe(1_764_061_800_000);
});

test('an id is the example of RFC 9562, appendix A.6, where its time and its random bits are', () => {
  const random = [0x0c, 0xc3, 0x18, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f];
  expect(uuid7(0x017f22e279b0, () => Uint8Array.from(random))).toBe('017f22e2-79b0-7cc3-98c4-dc0c0c07398f');
});

test('ids of later milliseconds sort later', () => {
  const random = seeded(3);
  const ids = [0, 1, 2 ** 32 - 1, 2 ** 32, 1_764_061_800_000].map((ms) => uuid7(ms, random));
  expect([...ids].sort()).toEqual(ids);
});

test('a device name is eight small letters or digits, each of them as likely', () => {
  const counts = new Map<string, number>();
  for (let seed = 0; seed < 2000; seed += 1) {
    const name = deviceName(seeded(seed));
    expect(name).toMatch(/^[0-9a-z]{8}$/);
    for (const letter of name) counts.set(letter, (counts.get(letter) ?? 0) + 1);
  }
  // Chi square with 35 degrees of freedom: over 66.6 once in a thousand sets of names; these are always the same names.
  const expected = (2000 * 8) / 36;
  const chi2 = [...counts.values()].reduce((sum, count) => sum + (count - expected) ** 2 / expected, 0);
  expect(counts.size).toBe(36);
  expect(chi2).toBeLessThan(66.6);
});

test('an instant is read with its offset, and what only looks like one is none', () => {
  expect(instantMs('2026-11-25T20:10:00.000Z')).toBe(Date.UTC(2026, 10, 25, 20, 10));
  expect(instantMs('2026-11-25T21:10+01:00')).toBe(Date.UTC(2026, 10, 25, 20, 10));
  expect(instantText(Date.UTC(2026, 10, 25, 20, 10))).toBe('2026-11-25T20:10:00.000Z');
  for (const other of ['2026-11-25', '2026-11-25T21:10', '2026-13-25T21:10Z', '21:10', 5, null]) expect(instantMs(other)).toBeNull();
});
