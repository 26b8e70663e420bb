/** The nursery's own arithmetic on the phone, and which duties a record answers before the server has heard of it. */
import { describe, expect, it, test } from 'vitest';
import { isOfYoung, withAnswers, type Logged } from '../src/domain/answering';
import type { DutyTold } from '../src/domain/duties';
import { aliveIn, ammoniaVerdict, asNitrogen, hatchedOf, USUAL_SAMPLE, wholeDays } from '../src/domain/nursery';

describe('a tin counted at home', () => {
  // FAO Fisheries Technical Paper 361, worksheet 4.2.3: H% = 100 N / (N + U + E), HE = N * 4 * 800 / 1.6 (from memory).
  it('gives 80 % and 120,000 nauplii a gram for 60 nauplii, 3 umbrella stages and 12 unhatched', () => {
    expect(hatchedOf({ nauplii: 60, umbrellas: 3, unhatched: 12, ...USUAL_SAMPLE })).toEqual({ percent: 80, perGram: 120_000 });
  });

  it('says nothing of a share where nothing was counted, and goes by the sample that was taken', () => {
    expect(hatchedOf({ nauplii: 0, umbrellas: 0, unhatched: 0, ...USUAL_SAMPLE })).toEqual({ percent: null, perGram: 0 });
    expect(hatchedOf({ nauplii: 60, umbrellas: 0, unhatched: 0, dropMl: 0.5, vesselMl: 400, grams: 1.6 }).perGram).toBe(30_000);
  });
});

// Standard atomic weights (IUPAC 2021, from memory): N 14.007, H 1.008, O 15.999.
test('what a kit shows as the whole ion is kept as nitrogen', () => {
  expect(asNitrogen(1, 'ammonium', true)).toBeCloseTo(14.007 / (14.007 + 4 * 1.008), 3);
  expect(asNitrogen(1, 'nitrite', true)).toBeCloseTo(14.007 / (14.007 + 2 * 15.999), 3);
  expect(asNitrogen(0.25, 'ammonium', false)).toBe(0.25);
});

test('free ammonia asks for caution from 0.010 mg/L N on and is an alarm from 0.025', () => {
  expect([0, 0.0099, 0.01, 0.0249, 0.025].map(ammoniaVerdict)).toEqual(['well', 'well', 'caution', 'caution', 'alarm']);
});

describe('how many are alive', () => {
  const noted = (at: string, fields: Record<string, string | number>) => ({ fields: { at: `2026-11-${at}T12:00:00.000Z`, ...fields } });

  it('is the last count less the deaths found since, however they were handed in', () => {
    const counts = [noted('28', { dead: 2 }), noted('26', { dead: 5 }), noted('27', { alive: 40, how: 'about' })];
    expect(aliveIn(noted('25', { alive: 50, how: 'exact' }), counts)).toEqual({ number: 38, how: 'about', deadSince: 2, at: '2026-11-27T12:00:00.000Z' });
  });

  it('is not known before anybody has counted, and never below none', () => {
    expect(aliveIn(noted('25', {}), [noted('26', { dead: 3 })])).toBeNull();
    expect(aliveIn(noted('25', { alive: 2 }), [noted('26', { dead: 3 })])?.number).toBe(0);
  });

  it('is told with an age in whole days', () => {
    expect([0, 23, 25, -5].map((hours) => wholeDays('2026-11-25T12:00:00Z', new Date(Date.parse('2026-11-25T12:00:00Z') + hours * 3_600_000)))).toEqual([0, 0, 1, 0]);
  });
});

describe('a record answers a duty', () => {
  const NOW = new Date('2026-11-25T12:00:00Z');
  const at = (time: string, day = 25): string => `2026-11-${day}T${time}:00.000Z`;
  const duty = (kind: string, due: string, until: string, done: string | null = null): DutyTold => ({ key: `${kind} ${due}`, kind, due_at: due, until_at: until, taken_by: null, done_at: done });
  const logged = (kind: string, when: string, fields: Record<string, unknown> = { belly: 'full', litres: 1, ammonia_mg_l: 0.1, alive: 3 }): Logged => ({ kind, fields: { at: when, ...fields }, waiting: true });
  // Three meals a day, each with its share of it.
  const MEALS = [duty('feed_fry', at('08:00'), at('10:30')), duty('feed_fry', at('13:00'), at('15:30')), duty('feed_fry', at('18:00'), at('20:30'))];
  const done = (duties: readonly DutyTold[], records: readonly Logged[]): (string | null)[] => withAnswers(duties, records, NOW, 20).map((one) => one.done_at);

  it('in whose share of the day it lies, and no other', () => {
    expect(done(MEALS, [logged('feeding', at('11:50'))])).toEqual([null, at('11:50'), null]);
    expect(done(MEALS, [logged('feeding', at('07:10')), logged('feeding', at('09:00')), logged('feeding', at('20:31'))])).toEqual([at('07:10'), null, null]);
  });

  it('unless it says nothing, is of another matter, or has been judged by the server', () => {
    expect(done(MEALS, [logged('feeding', at('11:50'), { took: null, belly: null })])).toEqual([null, null, null]);
    expect(done(MEALS, [logged('count', at('11:50'))])).toEqual([null, null, null]);
    const old = { ...logged('feeding', at('11:50')), waiting: false };
    expect(done(MEALS, [old])).toEqual([null, null, null]);
    // What has just gone up may be in no plan yet.
    expect(done(MEALS, [{ ...old, fields: { ...old.fields, at: at('11:58') } }])).toEqual([null, at('11:58'), null]);
  });

  it('once: what the server has as done stays as it is told', () => {
    const [, second] = MEALS as [DutyTold, DutyTold, DutyTold];
    expect(done([{ ...second, done_at: at('11:00') }], [logged('feeding', at('11:50'))])).toEqual([at('11:00')]);
  });

  it('of the day for tests and changes, and a change also an alarm that came before it', () => {
    const day = [duty('test_water', at('17:30'), at('20:30')), duty('change_water', at('18:00'), at('20:30')), duty('ammonia_high', at('11:00'), at('23:00'))];
    expect(done(day, [logged('water_test', at('11:50'))])).toEqual([at('11:50'), null, null]);
    expect(done(day, [logged('water_change', at('11:50'))])).toEqual([null, at('11:50'), at('11:50')]);
    expect(done(day, [logged('water_change', at('10:50'))])).toEqual([null, at('10:50'), null]);
    expect(done(day, [logged('water_test', at('20:00', 24))])).toEqual([null, null, null]);
  });

  it('within two days for a count, and within half a day for a hatch', () => {
    const both = [duty('count_fry', at('18:00', 26), at('18:00', 28)), duty('start_food', at('18:00'), at('06:00', 26))];
    expect(done(both, [logged('count', at('11:50'))])).toEqual([at('11:50'), null]);
    expect(done(both, [logged('culture', at('11:50'), { sort: 'brine_shrimp' })])).toEqual([null, at('11:50')]);
    expect(done(both, [logged('culture', at('05:50'), { sort: 'brine_shrimp' })])).toEqual([null, null]);
  });

  it('of two days’ food only for the first', () => {
    const two = [duty('start_food', at('20:00'), at('08:00', 26)), duty('start_food', at('18:00'), at('06:00', 26))];
    expect(done(two, [logged('culture', at('11:50'), { grams: 0.9 })])).toEqual([null, at('11:50')]);
    expect(done(two, [logged('culture', at('11:50'), { grams: 0.9 }), logged('culture', at('11:55'), { grams: 0.9 })])).toEqual([at('11:55'), at('11:50')]);
  });

  it('of water once as much was changed as comes near to what was asked for', () => {
    const change = { ...duty('change_water', at('18:00'), at('20:30')), amount: { quantity: 4, unit: 'L', measures: null, measure: null } as const };
    const litres = (...each: number[]) => each.map((one, i) => logged('water_change', at(`11:5${i}`), { litres: one }));
    expect([done([change], litres(1)), done([change], litres(1, 2)), done([change], litres(1, 2.4))]).toEqual([[null], [null], [at('11:51')]]);
    // Of a vessel of unknown volume any is enough.
    expect(withAnswers([change], litres(0.5), NOW)[0]?.done_at).toBe(at('11:50'));
    // What the server knows of counts towards it.
    const [first, second] = litres(2, 1.5) as [Logged, Logged];
    expect(done([change], [{ ...first, waiting: false, fields: { ...first.fields, at: at('09:00') } }, second])).toEqual([at('11:51')]);
  });

  it('only of young and of what is set going for them', () => {
    expect(['feed_fry', 'first_food', 'ammonia_high', 'look_tonight'].map((kind) => isOfYoung({ kind }))).toEqual([true, false, true, false]);
  });

  it('of a hatch of brine shrimp only by one of them', () => {
    const hatch = [duty('start_food', at('13:00'), at('23:00'))];
    expect([done(hatch, [logged('culture', at('11:50'), { sort: 'rotifers' })]), done(hatch, [logged('culture', at('11:50'), { sort: 'brine_shrimp' })])]).toEqual([[null], [at('11:50')]]);
  });

  it('of the first meal not where somebody fed just after lamps-out', () => {
    const meals = MEALS.map((meal) => ({ ...meal, night: '2026-11-25' }));
    expect(withAnswers(meals, [logged('feeding', at('21:10', 24))], NOW).map((one) => one.done_at)).toEqual([null, null, null]);
    expect(withAnswers(meals, [logged('feeding', at('22:40', 24))], NOW).map((one) => one.done_at)).toEqual([at('22:40', 24), null, null]);
  });
});
