/** A tank's temperature: what came down, drawn and told; and a file that goes up piece by piece. */
import { describe, expect, it } from 'vitest';
import type { Duty, DutyKind } from '../../src/pages/derived';
import { dutiesTonight } from '../../src/pages/evening';
import { added, Importing, packed, type Totals } from '../../src/pages/importing.svelte';
import { daysOf, degreesWords, farOff, gapHours, pointsOf, runsOf, since, togetherOf, wordsAgainst, wordsFor, type LeftOut, type WaterBody } from '../../src/pages/temperature';
import { watersOf } from '../../src/pages/waters';
import { routeOf } from '../../src/routes';
import type { Store } from '../../src/store';
import { openReadings, type Chosen, type Imported, type Spot } from '../../src/sync/readings';
import type { Ask } from '../../src/sync/http';
import { texts } from '../../src/texts';
import { holding, record } from './records';

const HOUR = 3_600_000;
const START = Date.parse('2026-11-20T00:00:00Z');
const BODY: WaterBody = {
  zone: 'Europe/Copenhagen', from: '2026-11-20T00:00:00.000Z', hours: [2600, 2650, null, null, null, null, 2700], left_out: [], left_out_more: 0, gaps: [], thermometers: [], range: null,
};
const at = (hour: number): Date => new Date(START + hour * HOUR);
const point = (hour: number, celsius = 26) => ({ at: at(hour), celsius });

describe('hours that came down', () => {
  it('stand at their middle, in degrees, and unknown ones are left out', () => {
    expect(pointsOf(BODY)).toEqual([point(0.5, 26), point(1.5, 26.5), point(6.5, 27)]);
    expect(pointsOf(undefined)).toEqual([]);
    expect(since(pointsOf(BODY), at(1.5))).toHaveLength(2);
  });

  it('are one line up to three hours apart, bridged up to a day, and parted beyond', () => {
    const { runs, bridges } = runsOf([0, 1, 4, 8, 32, 56.1].map((hour) => point(hour)));
    expect(runs.map((run) => run.length)).toEqual([3, 1, 1, 1]);
    expect(bridges.map(([from, to]) => [(from.at.getTime() - START) / HOUR, (to.at.getTime() - START) / HOUR])).toEqual([[4, 8], [8, 32]]);
    expect(runsOf([])).toEqual({ runs: [], bridges: [] });
  });

  it('make days by the clock of the tank', () => {
    const days = daysOf([point(22, 25), point(22.9, 27), point(23.5, 30)], 'Europe/Copenhagen');
    expect(days).toEqual([{ day: '2026-11-20', low: 25, high: 27, mean: 26, hours: 2 }, { day: '2026-11-21', low: 30, high: 30, mean: 30, hours: 1 }]);
  });

  it('are told in the unit of this device, never parted by the end of a line', () => {
    expect(degreesWords(26, { temperature: 'C', volume: 'L' })).toBe('26.0\u00a0°C');
    expect(degreesWords(26, { temperature: 'F', volume: 'L' })).toBe('78.8\u00a0°F');
  });
});

describe('a keeper’s word', () => {
  const out: LeftOut = { thermometer: 'probe', since: '2026-11-20T10:00:00.000Z', until: '2026-11-20T12:00:00.000Z', why: 'spike', n: 3, low: 3300, high: 3300, is_used: false };
  const trust = (from: string | null, until: string | null, right: boolean | null = true, thermometer = 'probe') => record('trust', { thermometer, since: from, until, right });

  it('counts for what it overlaps, of that thermometer alone', () => {
    const words = [
      trust('2026-11-20T11:00:00Z', '2026-11-20T13:00:00Z'), trust('2026-11-20T12:00:00Z', '2026-11-20T13:00:00Z'), trust('2026-11-20T08:00:00Z', '2026-11-20T10:00:00Z'),
      trust(null, null), trust(out.since, out.until, false), trust(out.since, out.until, true, 'sump'), trust(out.since, out.until, null),
    ];
    expect(wordsFor(out, words)).toEqual([words[0], words[3]]);
  });

  it('leaves a thermometer out only where it speaks of all of it', () => {
    const words = [trust(null, null, false), trust(out.since, null, false), trust(null, null, true), trust(null, null, false, 'sump')];
    expect(wordsAgainst('probe', words)).toEqual([words[0]]);
  });
});

describe('a typed reading', () => {
  const tank = record('tank', { name: 'Hall tank', set_point_c: 26.5 });
  const typed = (hour: number, celsius: number) => ({ ...point(hour, celsius), record: record('reading', { at: at(hour).toISOString(), temperature_c: celsius }) });
  const slip = typed(30, 16.2);
  const far = (all: readonly ReturnType<typeof typed>[], body: WaterBody | undefined = undefined, of = tank, hours = 40) => farOff({ tank: of, body, typed: all }, at(hours));

  it('is doubted where it lies far from all that was measured around it', () => {
    expect(far([typed(0, 26.1), slip, typed(36, 26.4)])).toEqual([slip]);
    expect(far([slip], BODY)).toEqual([slip]);
    expect(far([typed(0, 26.1), slip])).toEqual([slip]);
    expect(far([typed(0, 23.3), typed(30, 26.2)])).toEqual([]);
    // Whoever measures again and reads the same is believed.
    expect(far([typed(0, 26.1), slip, typed(31, 16.4)])).toEqual([]);
  });

  it('is held against what the water is kept at, and believed where nothing is known to hold it against', () => {
    expect(far([slip, typed(30 + 80, 16)], undefined, tank, 120).map((one) => one.celsius)).toEqual([16, 16.2]);
    expect(far([slip], undefined, record('tank', { name: 'New' }))).toEqual([]);
  });

  it('is of no matter any more once forecasts look no further back', () => {
    expect(far([slip], undefined, tank, 30 + 60 * 24 - 1)).toEqual([slip]);
    expect(far([slip], undefined, tank, 30 + 60 * 24 + 1)).toEqual([]);
  });
});

describe('the thermometers of a brood’s tank', () => {
  it('are named where they count as their mean', async () => {
    const [tank, fish, brood] = [record('tank', {}), record('fish', { about: 'T' }), record('brood', { about: 'F' })];
    const known = (body: object | undefined) => ({ get: async (id: string) => ({ B: brood, F: fish, T: tank })[id], derived: async (_: string, of: string) => (of === 'T' ? body : undefined) }) as unknown as Store;
    expect(await togetherOf(known({ ...BODY, together: ['probe', 'sump'] }), 'B')).toEqual(['probe', 'sump']);
    expect(await togetherOf(known(BODY), 'B')).toEqual([]);
    expect(await togetherOf(known(undefined), 'none')).toEqual([]);
  });
});

describe('a gap', () => {
  it('lasts until its end, or until now', () => {
    expect(gapHours({ since: at(0).toISOString(), until: at(30).toISOString() }, at(99))).toBe(30);
    expect(gapHours({ since: at(0).toISOString(), until: null }, at(5))).toBe(5);
  });
});

describe('water that wants something', () => {
  it('brings its tank’s duties with the marks on them', async () => {
    const tanks = [record('tank', { name: 'Hall tank' }), record('tank', { name: 'Study cube' })];
    const duty = { key: 'warm:1', kind: 'too_warm', brood: tanks[1]!.id };
    const mark = record('mark', { duty: 'warm:1' });
    const store = { derived: async (_: string, of: string) => (of === tanks[1]!.id ? { duties: [duty] } : undefined), about: async () => [mark] } as unknown as Store;
    expect(await watersOf(store, tanks)).toEqual([{ brood: tanks[1], fish: undefined, tank: tanks[1], marks: [mark], duties: [duty], words: texts }]);
  });
});

describe('Tonight', () => {
  it('names water that runs away before anything that has its hour', () => {
    const now = new Date('2026-11-25T20:00:00Z');
    const tank = record('tank', { name: 'Study cube', zone: 'Europe/Copenhagen', lamps_out: '21:30', lamps_on: '08:30' });
    const duty = (key: string, kind: DutyKind, due: string): Duty => ({ key, kind, brood: tank.id, night: '2026-11-25', due_at: due, until_at: '2026-11-26T20:00:00.000Z', taken_by: null, done_at: null });
    const male = holding({ duties: [duty('look:1', 'look_tonight', '2026-11-25T18:00:00.000Z')] });
    const water = { brood: tank, fish: undefined, tank, marks: [], words: texts, duties: [duty('warm:1', 'too_warm', '2026-11-25T19:50:00.000Z')] };
    const rows = dutiesTonight({ holding: [male], waters: [water], owed: [], unsure: [], tanks: [], fish: [], people: undefined, self: null, notesLater: [], isShared: false }, now);
    expect(rows.map((row) => row.key)).toEqual(['warm:1', 'look:1']);
    expect(rows[0]).toMatchObject({ title: 'The water is too warm', male: 'Study cube', brood: tank.id, isFree: true });
  });
});

/** A server that takes lines of ten bytes, one a reading, and every fourth of them as wrong. */
function lineServer(asked: { path: string; body: Record<string, unknown> }[]) {
  return async (path: string, { body }: Ask = {}) => {
    const sent = body as Record<string, unknown>;
    asked.push({ path, body: sent });
    if (path.endsWith('preview')) return { status: 200, body: { form: { unit: (sent['chosen'] as Chosen).unit ?? null }, is_ready: true, orders: [] } };
    const spot = sent['spot'] as Spot;
    const lines = Math.floor(atob(String(sent['piece'])).length / 10);
    const wrong = Array.from({ length: Math.floor(lines / 4) }, (_, i) => ({ line: spot.line + i * 4, text: '', why: 'no temperature' }));
    const answer: Imported = { spot: { ...spot, offset: spot.offset + lines * 10, line: spot.line + lines }, taken: lines - wrong.length, known: 0, wrong, wrong_count: wrong.length, repeated: 1, skipped: 0, noons: 0 };
    return { status: 200, body: answer };
  };
}

function file(bytes: number): File {
  return new File([new Uint8Array(bytes).map((_, i) => i % 251)], 'log.csv');
}

describe('a file', () => {
  it('goes up in the bytes that it has', async () => {
    const bytes = new Uint8Array(100_000).map((_, i) => i % 256);
    const text = atob(await packed(new Blob([bytes])));
    expect(text.length).toBe(bytes.length);
    expect(bytes.every((byte, i) => text.charCodeAt(i) === byte)).toBe(true);
  });

  it('is sent on from where the server read to, until all of it is taken', async () => {
    const asked: { path: string; body: Record<string, unknown> }[] = [];
    const importing = new Importing(file(1000), openReadings('tank-1', lineServer(asked)), 256);
    await importing.choose({ unit: 'C' });
    await importing.run('probe');
    expect(importing.state).toBe('done');
    expect(asked.map(({ path }) => path)).toEqual(['preview', ...Array(4).fill('import')].map((what) => `/api/v1/tanks/tank-1/readings/${what}`));
    expect(asked.slice(1).map(({ body }) => [(body['spot'] as Spot).offset, body['is_last']])).toEqual([[0, false], [250, false], [500, false], [750, true]]);
    expect(importing.totals).toMatchObject({ taken: 76, wrongCount: 24, repeated: 4 });
    expect(importing.share).toBe(1);
  });

  it('can be stopped, and goes on with what is left and in the same form', async () => {
    const asked: { path: string; body: Record<string, unknown> }[] = [];
    const server = lineServer(asked);
    let importing: Importing | undefined;
    const stopping = async (path: string, ask?: Ask) => {
      if (asked.length === 2) importing?.stop();
      return server(path, ask);
    };
    importing = new Importing(file(1000), openReadings('tank-1', stopping), 250);
    await importing.choose({ unit: 'F' });
    await importing.run('probe');
    expect([importing.state, importing.spot.offset]).toEqual(['stopped', 500]);
    await importing.run('probe');
    expect([importing.state, importing.totals.taken + importing.totals.wrongCount]).toEqual(['done', 100]);
    expect(asked.slice(1).every(({ body }) => (body['form'] as { unit: string }).unit === 'F')).toBe(true);
  });

  it('is let go of with an error where nothing of a piece was read, and is not asked for for ever', async () => {
    const importing = new Importing(file(5), openReadings('tank-1', lineServer([])), 256);
    await importing.choose({});
    await expect(importing.run('probe')).rejects.toThrow();
    expect(importing.state).toBe('stopped');
  });

  it('is asked about anew with each choice, and an answer that was overtaken is let go', async () => {
    const releases: (() => void)[] = [];
    const slow = async (_: string, { body }: Ask = {}) => {
      await new Promise<void>((release) => releases.push(release));
      return { status: 200, body: { form: { unit: ((body as { chosen: Chosen }).chosen).unit } } };
    };
    const importing = new Importing(file(100), openReadings('tank-1', slow), 256);
    const [first, second] = [importing.choose({ unit: 'C' }), importing.choose({ unit: 'K' })];
    while (releases.length < 2) await new Promise((next) => setTimeout(next, 1));
    releases[1]!();
    await second;
    releases[0]!();
    await first;
    expect(importing.understood?.form.unit).toBe('K');
  });

  it('lists the first wrong lines and counts all', () => {
    const piece = { spot: { offset: 1, line: 1, last_ms: null, steps_ms: [] }, taken: 0, known: 0, wrong: Array.from({ length: 200 }, (_, line) => ({ line, text: '', why: '' })), wrong_count: 900, repeated: 0, skipped: 0, noons: 2 };
    const none: Totals = { taken: 0, known: 0, wrongCount: 0, wrong: [], repeated: 0, skipped: 0, noons: 0 };
    const totals = added(added(none, piece), piece);
    expect([totals.wrong.length, totals.wrongCount, totals.noons]).toEqual([300, 1800, 4]);
  });
});

describe('an address', () => {
  it('leads to the temperature of a tank', () => {
    expect(routeOf('/tank/01a1-7c/temperature')).toEqual({ name: 'temperature', id: '01a1-7c', destination: 'household' });
  });
});
