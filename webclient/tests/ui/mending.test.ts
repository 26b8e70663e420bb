/** Mending what was refused: which value is wrong and why, how each is changed, and back into values. */
import { describe, expect, it } from 'vitest';
import { choicesOf, labelOf, mendable, mended, reasonWords, reasonsOf, typedWrong, wayOf } from '../../src/pages/mending';
import type { Fields } from '../../src/store';
import { clockTime, dayName } from '../../src/ui/dates';

const ZONE = 'Europe/Copenhagen';
const NOW = new Date('2026-11-25T20:00:00Z');
const reasons = (kind: string, reason: string, fields: Fields) => reasonsOf(kind, reason, fields, ZONE, NOW);

describe('a refused entry', () => {
  it('is mended in the type that each value had', () => {
    const fields = { about: 'tank-1', temperature_c: 260, source: 'typed' };
    expect(mendable('reading', fields)).toEqual({ temperature_c: '260' });
    expect(mended('reading', fields, { temperature_c: '26' })).toEqual({ temperature_c: 26 });
    expect(mended('reading', fields, { temperature_c: '26,5' })).toEqual({ temperature_c: 26.5 });
    expect(mended('reading', fields, { temperature_c: 'warm' })).toEqual({ temperature_c: 'warm' });
    expect(mended('reading', fields, { temperature_c: ' ' })).toEqual({ temperature_c: null });
  });

  it('becomes a number or a truth also where it was none', () => {
    expect(mended('brood', { kept: 'many' }, { kept: '12' })).toEqual({ kept: 12 });
    expect(mendable('fish', { has_released_before: 'yes', gone: false })).toEqual({ has_released_before: 'yes', gone: 'false' });
    expect(mended('fish', { has_released_before: 'yes', gone: false }, { has_released_before: 'true', gone: 'false' })).toEqual({ has_released_before: true, gone: false });
  });

  it('shows an instant as a day and an hour of this phone, and leaves one that nobody touched as it was', () => {
    const fields = { at: '2026-11-25T20:10:37.482Z', mouth: 'full' };
    const shown = mendable('look', fields);
    expect(new Date(shown['at']!).toISOString()).toBe('2026-11-25T20:10:00.000Z');
    expect(mended('look', fields, shown)).toEqual(fields);
    const moved = mendable('look', { at: '2026-11-24T20:10:00.000Z' })['at']!;
    expect(mended('look', fields, { ...shown, at: moved })).toEqual({ ...fields, at: '2026-11-24T20:10:00.000Z' });
  });

  it('says by each field what is wrong with it, with instants as people name them', () => {
    const when = `${dayName('2026-11-04')}, ${clockTime(new Date('2026-11-04T19:00:00Z'), ZONE)}`;
    const before = 'at: this look lies before the brood began (2026-11-04T19:00:00.000Z). Correct its time, or the brood\'s beginning.';
    expect(reasons('look', before, { at: '2026-10-01T10:00:00Z', mouth: 'full' })).toEqual({ by: { at: [`This look lies before the brood began (${when}). Correct its time, or the brood's beginning.`] }, others: null });
    const two = 'set_point_c: must be between -5 and 45 °C; must be a number; company: must be one of alone, others.';
    expect(reasons('tank', two, { set_point_c: 99, company: 'many' })).toEqual({ by: { set_point_c: ['Must be between -5 and 45 °C.', 'Must be a number.'], company: ['Choose one of these.'] }, others: null });
    expect(reasons('look', 'The field note is longer than 16384 characters.', { note: 'x' })).toEqual({ by: { note: ['Is longer than 16384 characters.'] }, others: null });
  });

  it('says of the whole what is about no value of it', () => {
    const role = 'A helper cannot write a tank; ask the owner or a keeper.';
    expect(reasons('tank', role, { name: 'Hall' })).toEqual({ by: {}, others: role });
    expect(reasons('look', 'This is more than the server takes at once.', { note: 'x' })).toEqual({ by: {}, others: 'This is more than the server takes at once.' });
    expect(reasons('look', 'elsewhere: must be there.', { note: 'x' }).others).toBe('elsewhere: must be there.');
  });

  it('names the values that the server does not know', () => {
    expect(reasons('look', 'A look has no field fins, gills.', { fins: 3, gills: 'red', mouth: 'full' }).by).toEqual({ fins: [expect.stringMatching(/Leave it out/)], gills: [expect.stringMatching(/Leave it out/)] });
  });

  it('keeps a reason whose instants are said as people name them', () => {
    expect(reasonWords('not before 2026-11-04T19:00:00.000Z', ZONE, NOW)).toBe(`not before ${dayName('2026-11-04')}, ${clockTime(new Date('2026-11-04T19:00:00Z'), ZONE)}`);
  });
});

describe('a value', () => {
  it.each([
    ['look', 'mouth', 'choice'], ['look', 'clutch', 'choice'], ['look', 'eggs', 'choice'], ['mark', 'eggs', 'number'], ['mark', 'what', 'choice'], ['feeding', 'took', 'choice'], ['feeding', 'food', 'text'],
    ['brood', 'ended', 'choice'], ['fish', 'species', 'choice'], ['fish', 'sex', 'choice'], ['tank', 'company', 'choice'], ['tank', 'lamps_out', 'hour'], ['tank', 'zone', 'zone'],
    ['look', 'at', 'instant'], ['look', 'note', 'long'], ['look', 'recalled', 'truth'], ['tank', 'litres', 'number'], ['look', 'fins', 'text'],
  ])('a %s’s %s is changed as %s', (kind, name, way) => expect(wayOf(kind, name)).toBe(way));

  it.each([
    ['tank', 'litres', '-5', null], ['tank', 'litres', 'many', 'This must be a number.'], ['tank', 'litres', '', null], ['look', 'at', '', 'Say when it was.'], ['brood', 'ended_at', '', null],
    ['tank', 'lamps_out', '25', 'This must be an hour such as 21:30.'], ['tank', 'lamps_out', '21:30', null], ['look', 'mouth', 'enormous', 'Choose one of these.'], ['look', 'mouth', 'full', null],
    ['look', 'note', 'x'.repeat(2000), null], ['look', 'note', 'x'.repeat(3000), `${new Intl.NumberFormat().format(3000)} characters; ${new Intl.NumberFormat().format(2000)} fit.`],
  ])('a %s’s %s is judged before anybody is asked', (kind, name, text, wrong) => expect(typedWrong(kind, name, text)).toBe(wrong));

  it('has a name, and words for what it is chosen from', () => {
    expect([labelOf('temperature_c'), labelOf('a_field_to_come')]).toEqual(['Temperature', 'A field to come']);
    expect(Object.keys(choicesOf('look', 'tails'))).toEqual(['seen', 'perhaps', 'none']);
    expect(choicesOf('brood', 'ended')).toMatchObject({ caught: 'Caught', mistake: 'No hold' });
  });
});
