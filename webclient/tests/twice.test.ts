/** Which records tell of one event, by the vectors that the server's tests read too. */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { events, once, type Written } from '../src/domain/twice';

interface Vector { why: string; records: Written[]; events: string[][] }
const VECTORS = JSON.parse(readFileSync(new URL('../../tests/twice_vectors.json', import.meta.url), 'utf8')) as { cases: Vector[] };

const ids = (groups: readonly (readonly Written[])[]): string[][] => groups.map((group) => group.map((record) => record.id));

test.each(VECTORS.cases)('the events of records, as on the server: $why', ({ records, events: found }) => {
  expect(ids(events(records))).toEqual(found);
  expect(ids(events([...records].reverse()))).toEqual(found);
});

test('a feeding that names the male and one that names his brood may be of one event', () => {
  const fed = (id: string, about: string, author: string): Written => ({ id, kind: 'feeding', author, device: id, fields: { about, at: '2026-11-25T20:00:00Z', took: 'ate' } });
  const both = [fed('a', 'quill', 'mira'), fed('b', 'brood-1', 'jonas')];
  expect(ids(events(both))).toEqual([['a'], ['b']]);
  expect(ids(events(both, ({ fields }) => (fields['about'] === 'quill' ? 'brood-1' : fields['about'])))).toEqual([['a', 'b']]);
});

test('of each event the first record that tells of it', () => {
  const [{ records }] = VECTORS.cases as [Vector];
  expect(once(records).map((record) => record.id)).toEqual(['a']);
});
