/** What the fields of a record were before: told by the server, and by what waits on this phone. */
import { describe, expect, it } from 'vitest';
import { askedOf, changesOf, fieldsAsOf, joinedRecords, pastsOf, questionsOf, type FieldPast } from '../../src/pages/history';
import { byWords, entryTitle, fieldWords, subjectWords, valueWords, whoWords, type Known } from '../../src/pages/historywords';
import { daysWords } from '../../src/pages/rotawords';
import { METRIC } from '../../src/domain/units';
import { AT_HATCHING } from '../../src/domain/ways';
import type { FieldWriting } from '../../src/store';
import type { RecordHistory } from '../../src/sync/history';
import { momentWords } from '../../src/ui/dates';
import { record } from './records';

const HERE = 'aaaaaaaa';
const THERE = 'bbbbbbbb';
const NOW = new Date('2026-11-25T20:10:00.000Z');
const ZONE = 'Europe/Copenhagen';

const stamp = (minutes: number, device = THERE): string => `${NOW.getTime() - 86_400_000 + minutes * 60_000}.0000.${device}`;
function told(value: unknown, minutes: number, device = THERE, was: string | null = null) {
  return { value, stamp: stamp(minutes, device), was, at: '', by: 'ada', name: 'Ada', phone: 'Firefox on Android' };
}
type Told = ReturnType<typeof told>;
const field = (name: string, stands: Told, ...earlier: (Told & { apart?: boolean })[]): RecordHistory['fields'][number] => ({
  name, stands, earlier: earlier.map((one, i) => ({ ...one, apart: one.apart ?? false, replaced_by: i === 0 ? stands : (earlier[i - 1] as Told) })),
});
const history = (...fields: RecordHistory['fields']): RecordHistory => ({ id: 'r', kind: 'tank', author: 'ada', concurrent: [], fields });
const own = (name: string, value: FieldWriting['value'], at: string, more: Partial<FieldWriting> = {}): FieldWriting => ({ field: name, value, stamp: at, was: undefined, by: null, waiting: false, ...more });
const named = (pasts: readonly FieldPast[], name: string): FieldPast => pasts.find((past) => past.name === name) as FieldPast;
const values = (past: FieldPast) => past.earlier.map((one) => [one.value, one.replacedBy.value, one.apart]);

describe('the past of a field', () => {
  it('is what the server tells, the latest first', () => {
    const lamps = named(pastsOf(history(field('lamps_out', told('22:30', 9), told('22:00', 5), told('21:30', 0))), []), 'lamps_out');
    expect(lamps.stands).toMatchObject({ value: '22:30', name: 'Ada', phone: 'Firefox on Android', waiting: false });
    expect(values(lamps)).toEqual([['22:00', '22:30', false], ['21:30', '22:00', false]]);
  });

  it('goes on with what waits here, which knew of what it replaced', () => {
    const standing = own('lamps_out', '22:30', stamp(9));
    const mine = own('lamps_out', '23:00', stamp(20, HERE), { was: stamp(9), by: 'ben', waiting: true });
    const lamps = named(pastsOf(history(field('lamps_out', told('22:30', 9), told('22:00', 5))), [standing, mine]), 'lamps_out');
    expect(lamps.stands).toMatchObject({ value: '23:00', by: 'ben', waiting: true });
    expect(values(lamps)).toEqual([['22:30', '23:00', false], ['22:00', '22:30', false]]);
    expect(lamps.earlier[0]).toMatchObject({ name: 'Ada' });
  });

  it('tells what was overruled on this phone while it waited, without a connection too', () => {
    const mine = own('lamps_out', '23:00', stamp(5, HERE), { was: stamp(0), by: 'ben', waiting: true });
    const lamps = named(pastsOf(undefined, [own('lamps_out', '22:30', stamp(9)), mine]), 'lamps_out');
    expect(values(lamps)).toEqual([['23:00', '22:30', true]]);
  });

  it('knows that what was written here on top of something older had not seen what came between', () => {
    const mine = own('lamps_out', '23:00', stamp(20, HERE), { was: stamp(0), by: 'ben', waiting: true });
    expect(values(named(pastsOf(undefined, [own('lamps_out', '22:30', stamp(9)), mine]), 'lamps_out'))).toEqual([['22:30', '23:00', true]]);
  });

  it('stands as the greater text where a broken device stamped two values alike', () => {
    const lamps = named(pastsOf(undefined, [own('name', 'Bay', stamp(0)), own('name', 'Cove', stamp(0), { waiting: true })]), 'name');
    expect(lamps.stands.value).toBe('Cove');
  });

  it('is read on, a page after the other', () => {
    const first = history(field('name', told('D', 9), told('C', 8)), field('litres', told(240, 1)));
    const second = history(field('name', told('D', 9), told('B', 7), told('A', 0)), field('zone', told('Z', 1)));
    const [joined] = joinedRecords([first], [second, { ...second, id: 'other' }]);
    expect(values(named(pastsOf(joined, []), 'name')).map(([value]) => value)).toEqual(['C', 'B', 'A']);
    expect(joined?.fields.map((one) => one.name)).toEqual(['name', 'litres', 'zone']);
  });
});

describe('what two people wrote apart', () => {
  const apart = (...earlier: [unknown, number, string, boolean][]) =>
    pastsOf(history(field('lamps_out', told('22:30', 20), ...earlier.map(([value, at, device, isApart]) => ({ ...told(value, at, device), apart: isApart })))), []);
  const rivals = (pasts: FieldPast[]) => questionsOf({ concurrent: ['lamps_out'] }, pasts).flatMap((one) => one.rivals.map((rival) => rival.value));

  it('is asked of the values that had not seen each other', () => {
    expect(rivals(apart(['21:00', 9, HERE, true], ['21:30', 0, THERE, false]))).toEqual(['21:00']);
    expect(questionsOf({ concurrent: [] }, apart(['21:00', 9, HERE, true]))).toEqual([]);
  });

  it('is found below what the device that wrote last had written itself before', () => {
    expect(rivals(apart(['22:15', 15, THERE, false], ['21:00', 9, HERE, true], ['20:45', 8, HERE, false]))).toEqual(['21:00']);
  });

  it('of three is all of them', () => {
    expect(rivals(apart(['21:00', 9, HERE, true], ['20:00', 8, 'cccccccc', true], ['21:30', 0, THERE, false]))).toEqual(['21:00', '20:00']);
  });

  it('is known to be there while only the server knows what it is', () => {
    expect(questionsOf({ concurrent: ['name'] }, pastsOf(undefined, [own('name', 'Bay', stamp(0))]))).toMatchObject([{ rivals: [] }]);
  });

  it('is asked once of a time and what goes with it', () => {
    expect(askedOf({ concurrent: ['at', 'at_error_min', 'clock_doubtful', 'mouth'] })).toEqual(['at', 'mouth']);
    expect(askedOf({ concurrent: ['clock_doubtful'] })).toEqual(['clock_doubtful']);
  });
});

describe('to bring a value back', () => {
  const pasts = pastsOf(history(
    field('at', told('2026-11-24T21:45:00Z', 9), told('2026-11-24T22:00:00Z', 0)),
    field('at_error_min', told(15, 9), told(0, 0)),
    field('clock_doubtful', told(false, 9)),
    field('mouth', told('full', 0)),
  ), []);

  it('brings back what went with it, as it was then, and nothing else', () => {
    const at = named(pasts, 'at');
    expect(fieldsAsOf(at, at.earlier[0] as FieldPast['stands'], pasts)).toEqual({ at: '2026-11-24T22:00:00Z', at_error_min: 0, clock_doubtful: null });
    const mouth = named(pasts, 'mouth');
    expect(fieldsAsOf(mouth, mouth.stands, pasts)).toEqual({ mouth: 'full' });
  });

  it('is offered once for a time and what was replaced along with it', () => {
    expect(changesOf(pasts).map((past) => past.name)).toEqual(['at']);
    const alone = pastsOf(history(field('at', told('2026-11-24T22:00:00Z', 0)), field('clock_doubtful', told(false, 9), told(true, 0))), []);
    expect(changesOf(alone).map((past) => past.name)).toEqual(['clock_doubtful']);
  });
});

describe('in words', () => {
  const known: Known = {
    people: { household: { id: 'h', name: 'Tern Quay 4' }, people: [{ id: 'ben', name: 'Ben', role: 'keeper', gone: true }] },
    device: HERE, units: METRIC, zone: ZONE, now: NOW, subjects: { names: new Map([['b-1', 'Quill’s brood'], ['t-1', 'Hall tank']]), ways: new Map([['b-1', AT_HATCHING]]) },
  };
  const look = record('look', { about: 'b-1', at: '2026-11-24T21:00:00Z', mouth: 'full' });
  const tank = record('tank', { name: 'Hall tank' });
  const words = (kind: typeof look, name: string, value: FieldWriting['value']): string => valueWords(kind, name, value, known);

  it.each([
    [look, 'mouth', 'smaller', 'smaller'], [look, 'light', 'red', 'Red lamp'], [look, 'mouth', null, 'nothing'], [look, 'about', 'b-1', 'Quill’s brood'], [look, 'about', 'x', 'another one'],
    [look, 'at_error_min', 15, '15 min'], [look, 'gone', true, 'taken out'], [look, 'recalled', false, 'no'], [look, 'note', 'hollow?', '“hollow?”'],
    [tank, 'set_point_c', 26.5, '26.5 °C'], [tank, 'litres', 240, '240 L'], [tank, 'company', 'alone', 'he and his mate alone'], [tank, 'zone', 'Europe/Copenhagen', 'Europe/\u200bCopenhagen'],
    [record('brood', {}), 'ended', null, 'under way'], [record('brood', {}), 'ended', 'released', 'Let go'], [record('mark', { about: 'b-1' }), 'what', 'released', 'They hatched'],
    [record('feeding', {}), 'took', 'ate', 'ate'], [record('feeding', {}), 'food', 'mysis', 'mysis'], [record('pond', {}), 'depth', [1, 2], '[1,2]'],
    [record('rota', {}), 'person', 'ben', 'Ben'], [record('rota', {}), 'person', 'nobody-known', 'nobody-known'], [record('rota', {}), 'weekdays', '', 'nothing'], [record('rota', {}), 'weekdays', 'TU,TH', daysWords(['TU', 'TH'])],
  ])('a %s’s %s', (of, name, value, said) => expect(words(of, name, value)).toBe(said));

  it('an instant is day and hour of this phone’s zone', () => {
    expect(words(look, 'at', '2026-11-24T21:00:00Z')).toBe(momentWords(new Date('2026-11-24T21:00:00Z'), ZONE, NOW));
    expect(words(look, 'at', 'soon')).toBe('soon');
  });

  it('fields and entries have names', () => {
    expect([fieldWords(tank, 'lamps_out'), fieldWords(look, 'gone'), fieldWords(look, 'eggs'), fieldWords(record('mark', {}), 'eggs'), fieldWords(record('rota', {}), 'weekdays'), fieldWords(look, 'new_thing')]).toEqual(['Lamps go out', 'Taken out', 'Eggs', 'Eggs', 'Evenings', 'New thing']);
    const when = momentWords(new Date('2026-11-24T21:00:00Z'), ZONE, NOW);
    expect([entryTitle(tank, known), entryTitle(look, known), entryTitle(record('rota', { person: 'ben' }), known), entryTitle(record('rota', {}), known), entryTitle(record('pond', {}), known)]).toEqual(['Hall tank', `Look, ${when}`, 'Ben’s turn', 'Somebody’s turn', 'An entry']);
    expect([subjectWords(look, known), subjectWords(tank, known), subjectWords(record('reading', { about: 't-1' }), known)]).toEqual(['Quill’s brood', null, 'Hall tank']);
  });

  it('a writing says who, on which device and when; also of somebody who has left, and of nobody known', () => {
    const [writing] = pastsOf(history(field('name', told('Bay', 0))), []).map((past) => past.stands);
    const at = momentWords(new Date(NOW.getTime() - 86_400_000), ZONE, NOW);
    expect(byWords(writing as FieldPast['stands'], known)).toBe(`Ada, with Firefox on Android, ${at}`);
    const [mine] = pastsOf(undefined, [own('name', 'Cove', stamp(5, HERE), { by: 'ben', waiting: true })]).map((past) => past.stands);
    expect(byWords(mine as FieldPast['stands'], known)).toBe('Ben, on this device, not gone up yet');
    const [nobody] = pastsOf(undefined, [own('name', 'Cove', stamp(5))]).map((past) => past.stands);
    expect([whoWords(nobody as FieldPast['stands'], known), byWords(nobody as FieldPast['stands'], known)]).toEqual(['Somebody', `Somebody, ${momentWords(new Date(NOW.getTime() - 86_100_000), ZONE, NOW)}`]);
  });
});
