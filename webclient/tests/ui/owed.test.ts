/** What is still asked for once a brood is over. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { Duty, DutyKind } from '../../src/pages/derived';
import { dutiesTonight } from '../../src/pages/evening';
import { owedIn } from '../../src/pages/owed';
import { owed } from '../../src/texts/en/owed';
import { texts } from '../../src/texts';
import { holding, record } from './records';

const duty = (kind: DutyKind, due = '2026-11-25T22:10:00.000Z', until = '2026-11-26T10:00:00.000Z'): Duty => ({
  key: `${kind}:brood-1`, kind, brood: 'brood-1', night: '2026-11-25', due_at: due, until_at: until, taken_by: null, done_at: null,
});

describe('of a brood that is over', () => {
  it('stands what is owed afterwards, and nothing of what led to its end', () => {
    const over = holding({ duties: [duty('catch_tonight'), duty('look_tonight'), duty('pumps_on'), duty('rest_over'), duty('fry_loose')] });
    expect(owedIn(over).duties.map((one) => one.kind)).toEqual(['pumps_on', 'rest_over']);
  });

  it('has words for each kind that the server plans', () => {
    const source = readFileSync(new URL('../../../server/holdwatch/domain/duties/duty.py', import.meta.url), 'utf8');
    const planned = /AFTERWARDS: [^=]* = frozenset\(\s*\{(.*?)\}/s.exec(source)?.[1]?.match(/\w+/g) ?? [];
    expect(planned.length).toBeGreaterThan(3);
    expect(Object.keys(owed).sort()).toEqual([...planned].sort());
  });

  it('shows tonight what is due tonight, under the name of the male', () => {
    const over = holding({ brood: record('brood', { ended: 'caught' }), duties: [duty('pumps_on'), duty('rest_over', '2026-12-25T18:30:00.000Z', '2027-01-24T18:30:00.000Z')] });
    const evening = { holding: [], waters: [], owed: [owedIn(over)], unsure: [], tanks: [], fish: [], people: undefined, self: null, notesLater: [], isShared: false };
    const [row, ...others] = dutiesTonight(evening, new Date('2026-11-25T22:00:00Z'));
    expect(others).toEqual([]);
    const [later] = dutiesTonight({ ...evening, owed: [owedIn({ ...over, duties: [{ ...duty('rest_over', '2026-11-26T04:00:00.000Z'), night: '2026-11-26' }] })] }, new Date('2026-11-25T22:00:00Z'));
    expect(later?.title).toBe('The end of his rest');
    expect(row).toMatchObject({ title: owed['pumps_on']?.title, not: owed['pumps_on']?.not, male: texts.tonight.duty.forMale('Quill', 'Hall tank') });
  });
});
