/** Turns: kept as records, changed day by day, and said of the duties that nobody has taken. */
import { describe, expect, it } from 'vitest';
import { dutyView } from '../../src/pages/evening';
import type { Duty } from '../../src/pages/derived';
import { daysOf, sayDay, turnsIn } from '../../src/pages/rota';
import { dayLong, dayShort, daysWords } from '../../src/pages/rotawords';
import { METRIC } from '../../src/domain/units';
import { turned, type Turning } from '../../src/pages/turning';
import type { Store } from '../../src/store';
import { START } from '../machine/scene';
import { ANNA, newPhone } from '../machine/world';
import { holding, record } from './records';

async function phone(): Promise<Store> {
  return (await newPhone({ nowMs: START }, 1, ANNA)).store;
}
const lists = async (store: Store) => (await store.ofKind('rota')).map((one) => [one.fields['person'], one.fields['weekdays']]);

describe('the turns of a person', () => {
  it('are one record, begun with the first day and changed by each further one, in the order of the week', async () => {
    const store = await phone();
    await sayDay(store, 'p-ben', 'TH', true);
    await sayDay(store, 'p-ben', 'TU', true);
    expect(await lists(store)).toEqual([['p-ben', 'TU,TH']]);
    await sayDay(store, 'p-ben', 'TH', false);
    await sayDay(store, 'p-ben', 'TU', false);
    expect(await lists(store)).toEqual([['p-ben', '']]);
    expect(turnsIn(await store.ofKind('rota'))).toEqual([{ person: 'p-ben', days: [] }]);
    await store.close();
  });

  it('do not touch those of others, and what was tapped last is taken back', async () => {
    const store = await phone();
    const begun = await sayDay(store, 'p-anna', 'MO', true);
    await sayDay(store, 'p-ben', 'TU', true);
    const changed = await sayDay(store, 'p-ben', 'SU', true);
    await changed();
    expect((await lists(store)).sort()).toEqual([['p-anna', 'MO'], ['p-ben', 'TU']]);
    await begun();
    expect(await lists(store)).toEqual([['p-ben', 'TU']]);
    await store.close();
  });

  it('are the days of all his records where two phones each began one; a change writes all, and is taken back in all', async () => {
    const store = await phone();
    await store.add('rota', { person: 'p-ben', weekdays: 'TU' });
    await store.add('rota', { person: 'p-ben', weekdays: 'TH,SA' });
    expect(daysOf(await store.ofKind('rota'), 'p-ben')).toEqual(['TU', 'TH', 'SA']);
    const back = await sayDay(store, 'p-ben', 'TU', false);
    expect(await lists(store)).toEqual([['p-ben', 'TH,SA'], ['p-ben', 'TH,SA']]);
    expect(turnsIn(await store.ofKind('rota'))).toEqual([{ person: 'p-ben', days: ['TH', 'SA'] }]);
    await back();
    expect((await lists(store)).sort()).toEqual([['p-ben', 'TH,SA'], ['p-ben', 'TU']]);
    await store.close();
  });

  it('that a helper takes back name nobody any more, for he may take nothing away', async () => {
    const store = await phone();
    await store.sync.enter({ ...ANNA, role: 'helper' });
    const back = await sayDay(store, 'p-ben', 'TU', true);
    await back();
    expect(turnsIn(await store.ofKind('rota'))).toEqual([]);
    await store.close();
  });

  it('are said in the words of the calendar', () => {
    // The test's locale is the machine's: both are asked of the same calendar.
    const tuesday = (width: 'short' | 'long') => new Date('2026-06-02T12:00:00Z').toLocaleDateString(undefined, { weekday: width, timeZone: 'UTC' });
    expect([dayShort('TU'), dayLong('TU')]).toEqual([tuesday('short'), tuesday('long')]);
    expect(daysWords(['TU', 'SU']).split(', ')).toHaveLength(2);
  });
});

// A Wednesday.
const LOOK: Duty = { key: 'look:b:2026-11-25', kind: 'look_tonight', brood: 'b', night: '2026-11-25', due_at: '2026-11-25T21:00:00.000Z', until_at: '2026-11-26T07:30:00.000Z', taken_by: null, done_at: null };
const NOW = new Date('2026-11-25T20:00:00Z');
const PEOPLE = { household: { id: 'h', name: 'Tern Quay 4' }, people: [['mira', 'Mira', false], ['jonas', 'Jonas', false], ['ditte', 'Ditte', true]].map(([id, name, gone]) => ({ id, name, role: 'keeper', gone })) } as unknown as NonNullable<Turning['people']>;

function row(self: string, rota: Readonly<Record<string, string>>, more: { duty?: Partial<Duty>; marks?: ReturnType<typeof record>[]; absences?: ReturnType<typeof record>[] } = {}) {
  const turns = turnsIn(Object.entries(rota).map(([person, weekdays]) => record('rota', { person, weekdays })));
  const known: Turning = { turns, absences: more.absences ?? [], people: PEOPLE, self, units: METRIC };
  return turned(dutyView({ ...LOOK, ...more.duty }, holding({ marks: more.marks ?? [] }), known, NOW), known);
}
const mark = (what: string, by: string) => record('mark', { what, duty: LOOK.key, at: '2026-11-25T19:00:00.000Z' }, by);

describe('a duty that nobody has taken', () => {
  it('says whose turn it is, and stands with one’s own where it is one’s own', () => {
    expect(row('mira', { jonas: 'MO,WE' })).toMatchObject({ holder: 'Jonas’s turn', isMyTurn: false, isFree: true });
    expect(row('jonas', { jonas: 'MO,WE' })).toMatchObject({ holder: 'Your turn', isMyTurn: true, isMine: false, isFree: true });
    expect(row('jonas', { mira: 'WE', jonas: 'WE' })).toMatchObject({ holder: 'Your turn, and Mira’s', isMyTurn: true });
    expect(row('ditte', { mira: 'WE', jonas: 'WE' })).toMatchObject({ holder: 'Mira’s and Jonas’s turn', isMyTurn: false });
  });

  it('says nothing on a day without a turn, nor of what is everybody’s at once', () => {
    expect(row('jonas', { jonas: 'TU,TH' })).toMatchObject({ holder: null, isMyTurn: false });
    expect(row('jonas', { jonas: 'WE' }, { duty: { kind: 'too_warm' } })).toMatchObject({ holder: null, isMyTurn: false });
  });

  it('is nobody’s turn whose turn it would be while he is away, or who has left', () => {
    const away = (since: string, until: string) => [record('absence', { person: 'jonas', since, until })];
    expect(row('jonas', { jonas: 'WE' }, { absences: away('2026-11-25T21:00:00.000Z', '2026-11-26T23:00:00.000Z') })).toMatchObject({ holder: null, isMyTurn: false });
    // He is back by the hour at which it is due.
    expect(row('jonas', { jonas: 'WE' }, { absences: away('2026-11-24T23:00:00.000Z', '2026-11-25T21:00:00.000Z') }).isMyTurn).toBe(true);
    expect(row('mira', { ditte: 'WE' }).holder).toBeNull();
  });
});

describe('whom to ask in doubt', () => {
  it('are keepers and owners other than oneself, who are here when it is due', () => {
    expect(row('mira', {}).ask).toBe('In doubt, ask Jonas.');
    expect(row('tove', {}).ask).toBe('In doubt, ask Mira or Jonas.');
    const away = [record('absence', { person: 'jonas', since: '2026-11-25T10:00:00.000Z', until: '2026-11-26T23:00:00.000Z' })];
    expect(row('mira', {}, { absences: away }).ask).toBeNull();
  });
});

describe('a duty that somebody has taken or done', () => {
  it('is his, whosever turn it was', () => {
    expect(row('jonas', { jonas: 'WE' }, { marks: [mark('taken', 'mira')] })).toMatchObject({ holder: 'Mira does it', isMyTurn: false });
    expect(row('jonas', { jonas: 'WE' }, { marks: [mark('done', 'mira')] })).toMatchObject({ holder: null, isMyTurn: false, done: 'Done by Mira, 60 min ago' });
    expect(row('jonas', { jonas: 'WE' }, { marks: [mark('taken', 'mira'), { ...mark('handed_back', 'mira'), made: `${NOW.getTime()}.0000.ab12cd34` }] })).toMatchObject({ holder: 'Your turn', isMyTurn: true });
  });
});
