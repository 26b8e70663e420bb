/** What the forecast says of single looks, in plain words beside each. */
import { describe, expect, it } from 'vitest';
import type { Duty, Forecast } from '../../src/pages/derived';
import { doubtsOf, leftOut } from '../../src/pages/doubts';
import { alarmOf } from '../../src/pages/story';
import type { Rec } from '../../src/store';
import { dayName } from '../../src/ui/dates';
import { forecast, holding, record } from './records';

const ZONE = 'Europe/Copenhagen';
const person = (id: string, name: string) => ({ id, name, role: 'keeper' as const, gone: false });
const people = { household: { id: 'h', name: 'Tern Quay 4' }, people: [person('mira', 'Mira'), person('tove', 'Tove')] };

function said(look: Rec, looks: readonly Rec[], changes: Partial<Forecast>, brood: Rec = record('brood', { ended: null })): string[] {
  return doubtsOf(look, { holding: holding({ brood, looks, forecast: forecast(changes) }), people, zone: ZONE }).map((doubt) => doubt.words);
}

describe('an evening of which people saw different things', () => {
  const first = record('look', { at: '2026-11-24T18:10:00.000Z', light: 'daylight', eggs: 'silver', mouth: 'full' });
  const second = record('look', { at: '2026-11-24T19:40:00.000Z', light: 'red', eggs: 'turning', mouth: 'full' }, 'tove');
  const nextDay = record('look', { at: '2026-11-25T18:10:00.000Z', light: 'daylight', eggs: 'turning' });
  const disagreements = [{ look: first.id, part: 'eggs', seen: ['silver', 'turning'] }];

  it('says who saw what, and that the better light counts, once, beside the last of them', () => {
    const words = 'Seen differently this evening, eggs: Mira silver (lamps on), Tove turning (red lamp). The better light counts: silver.';
    const looks = [first, second, nextDay];
    expect(looks.map((look) => said(look, looks, { disagreements }))).toEqual([[], [words], []]);
  });

  it('says so too where a feeding began the evening', () => {
    const fed = record('feeding', { at: '2026-11-24T17:30:00.000Z', took: 'ignored' });
    const told = { holding: holding({ looks: [first, second], feedings: [fed], forecast: forecast({ disagreements: [{ ...disagreements[0]!, look: fed.id }] }) }), people, zone: ZONE };
    expect(doubtsOf(second, told)[0]?.words).toMatch(/^Seen differently this evening, eggs/);
  });

  it('says that neither counts for more where the light was the same', () => {
    const other = { ...second, fields: { ...second.fields, light: 'torch' } };
    expect(said(other, [first, other], { disagreements })[0]).toMatch(/The light was the same, so neither counts for more\.$/);
  });

  it('is over as soon as one of them is corrected here, before a new forecast has come', () => {
    const corrected = { ...second, fields: { ...second.fields, eggs: 'silver' } };
    expect(said(corrected, [first, corrected], { disagreements })).toEqual([]);
    expect(said(second, [second], { disagreements })).toEqual([]);
  });
});

describe('a look that was left out', () => {
  const brood = record('brood', { ended: null, not_before: '2026-11-04T23:00:00.000Z' });
  const reason = (at: string, of: Rec = brood) => {
    const look = record('look', { at, mouth: 'full' });
    return leftOut(look, { holding: holding({ brood: of, looks: [look], forecast: forecast({ left_out: [look.id] }) }), people, zone: ZONE });
  };

  it('says why and what to do', () => {
    expect(reason('2026-11-03T18:00:00.000Z')).toEqual({ words: `Not used: it lies before ${dayName('2026-11-05')}, and until then he surely did not hold. Correct its time, or`, isOfBeginning: true });
    expect(reason('2026-11-25T13:00:00.000Z')).toEqual({ words: 'Not used: its time lies ahead of the forecast. Correct its time.', isOfBeginning: false });
    expect(reason('2026-09-03T18:00:00.000Z', record('brood', {}))?.words).toMatch(/too early to be of this brood/);
  });

  it('is silent of what was used, and of what has changed since', () => {
    const used = record('look', { at: '2026-11-20T18:00:00.000Z', mouth: 'full' });
    expect(said(used, [used], {})).toEqual([]);
    const changed = { ...used, waiting: true };
    expect(said(changed, [changed], { left_out: [used.id] })).toEqual(['Not gone up yet']);
  });
});

describe('the alarm for loose young', () => {
  const NOW = new Date('2026-11-25T20:00:00Z');
  const ended = record('brood', { ended: 'released', ended_at: '2026-11-25T19:30:00.000Z' });
  const seen = record('look', { at: '2026-11-25T19:00:00.000Z', loose_fry: 'seen' });
  const duty: Duty = { key: 'loose:brood:2026-11-25', kind: 'fry_loose', brood: 'brood', night: '2026-11-25', due_at: '2026-11-25T19:00:00.000Z', until_at: '2026-11-26T07:00:00.000Z', taken_by: null, done_at: null };

  it('sounds on after the brood was ended, as long as its duty stands', () => {
    expect(alarmOf(holding({ brood: ended, duties: [duty] }), NOW)).toMatchObject({ duty: duty.key });
    expect(alarmOf(holding({ brood: ended, looks: [seen] }), NOW)).toMatchObject({ duty: null });
    expect(alarmOf(holding({ brood: ended, looks: [seen], duties: [duty] }), new Date('2026-11-26T07:30:00Z'))).toBeNull();
  });

  it('is silent once somebody said that they are safe, and where he never held', () => {
    const safe = record('mark', { what: 'loose_fry_handled', at: '2026-11-25T19:20:00.000Z' });
    expect(alarmOf(holding({ brood: ended, looks: [seen], duties: [duty], marks: [safe] }), NOW)).toBeNull();
    expect(alarmOf(holding({ brood: record('brood', { ended: 'mistake' }), looks: [seen] }), NOW)).toBeNull();
    expect(alarmOf(holding({ looks: [seen] }), NOW)).not.toBeNull();
  });
});
