/** Records and forecasts for the tests of pages, as the store would give them. */
import type { Forecast, NightRow, Quantiles } from '../../src/pages/derived';
import type { Holding } from '../../src/pages/holding';
import { IN_THE_MOUTH } from '../../src/domain/ways';
import type { Fields, Rec } from '../../src/store';
import { texts } from '../../src/texts';

let count = 0;

/** A record of that kind; `by` wrote it. */
export function record(kind: string, fields: Fields, by = 'mira'): Rec {
  count += 1;
  return { id: `${kind}-${count}`, kind, author: by, device: 'ab12cd34', revision: 1, fields, concurrent: [], waiting: false, made: typeof fields['at'] === 'string' ? `${Date.parse(fields['at'])}.0000.ab12cd34` : undefined };
}

/** Quantiles spread over days round an instant. */
export function spread(middle: string, days: number): Quantiles {
  const at = (share: number): string => new Date(Date.parse(middle) + share * days * 86_400_000).toISOString();
  return { q05: at(-1), q10: at(-0.8), q25: at(-0.4), q50: at(0), q75: at(0.4), q90: at(0.8), q95: at(1) };
}

const EYED = { eggs: 0.02, eyed: 0.2, held_young: 0.7, releasing: 0.03, released: 0.01, lost: 0.04 };

/** A night of the table. */
export function night(date: string, saved: number): NightRow {
  return { night: date, at: `${date}T21:30:00.000Z`, saved, ...EYED };
}

/** A forecast issued on 25 November 2026 at noon, with 27 November as the night to catch. */
export function forecast(changes: Partial<Forecast> = {}): Forecast {
  return {
    spawned: spread('2026-11-06T19:00:00Z', 2), silver: spread('2026-11-20T19:00:00Z', 2), hatched: spread('2026-11-25T06:00:00Z', 2),
    released: spread('2026-11-29T12:00:00Z', 4), released_last: spread('2026-11-30T12:00:00Z', 4), now: EYED,
    nights: [night('2026-11-25', 0.6), night('2026-11-26', 0.65), night('2026-11-27', 0.68), night('2026-11-28', 0.6)],
    catch: { night: '2026-11-27', at: '2026-11-27T21:30:00.000Z', saved: 0.68 }, conflict: null, not_believed: [], disagreements: [], left_out: [], rough: false,
    grid: [{ at: '2026-11-25T12:00:00.000Z', ...EYED }, { at: '2026-12-09T12:00:00.000Z', ...EYED, held_young: 0.1, released: 0.61 }],
    issued_at: '2026-11-25T12:00:00.000Z', zone: 'Europe/Copenhagen', lamps_out: '21:30', lamps_on: '08:30',
    previous: null, changed: null, last_ate: null, looks_used: 1, error: null, way: 'young stay in the mouth', company: 'others',
    influences: [], next_look: null, if_seen: [], plans: [], learned: null, books: { hatch_days: 19, reference_c: 26.5 },
    taught: { own_hatch_days: null, hatch_days: null, broods: {} }, ...changes,
  };
}

/** A male of an invented house that holds, with the looks and marks given. */
export function holding(changes: Partial<Holding> = {}): Holding {
  const tank = record('tank', { name: 'Hall tank', zone: 'Europe/Copenhagen', lamps_out: '21:30', lamps_on: '08:30' });
  const fish = record('fish', { about: tank.id, name: 'Quill', spot: 'left of the rock' });
  const brood = record('brood', { about: fish.id, ended: null });
  return { brood, fish, tank, looks: [], feedings: [], marks: [], forecast: forecast(), duties: [], way: IN_THE_MOUTH, words: texts, ...changes };
}
