/** The server's doors for files of readings, thermometers and sensors; loaded with the page that needs them. */
import type { components } from '../records/api';
import { askFor } from './api';
import { fetchJson, type FetchJson } from './http';

type Schemas = components['schemas'];
export type Understood = Schemas['Understood'];
export type Form = Schemas['Form'];
export type Chosen = Schemas['Chosen'];
export type Spot = Schemas['Spot'];
export type Imported = Schemas['Imported'];
export type Thermometers = Schemas['Thermometers'];
export type ReadingToken = Schemas['ReadingToken'];

export type Readings = ReturnType<typeof openReadings>;

export const BEGINNING: Spot = { offset: 0, line: 1, last_ms: null, steps_ms: [] };

/** Every call about the temperature of one tank. */
export function openReadings(tank: string, fetching: FetchJson = fetchJson) {
  const at = `tanks/${encodeURIComponent(tank)}`;
  const post = <T>(path: string, body: object) => askFor<T>(fetching, path, { method: 'POST', body });
  return {
    thermometers: () => askFor<Thermometers>(fetching, `${at}/thermometers`),
    preview: (piece: string, isLast: boolean, chosen: Chosen) => post<Understood>(`${at}/readings/preview`, { piece, is_last: isLast, chosen }),
    take: (piece: string, isLast: boolean, thermometer: string, form: Form, spot: Spot) =>
      post<Imported>(`${at}/readings/import`, { piece, is_last: isLast, thermometer, form, spot }),
    tokens: () => askFor<ReadingToken[]>(fetching, `${at}/tokens`),
    makeToken: (name: string) => post<Schemas['TokenMade']>(`${at}/tokens`, { name }),
    revokeToken: (id: string) => askFor<void>(fetching, `tokens/${encodeURIComponent(id)}`, { method: 'DELETE' }),
  };
}
