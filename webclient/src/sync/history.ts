/** The server's doors to what records were before; loaded with the page that needs them. */
import type { components } from '../records/api';
import { askFor } from './api';
import { fetchJson, type FetchJson } from './http';

type Schemas = components['schemas'];
export type History = Schemas['History'];
export type RecordHistory = Schemas['RecordHistory'];
export type WritingTold = Schemas['Writing'];

/** What was changed of a record, or of a brood with everything about it, from that place on. */
export function askHistory(of: 'record' | 'brood', id: string, first: number, fetching: FetchJson = fetchJson): Promise<History> {
  return askFor<History>(fetching, `${of}s/${encodeURIComponent(id)}/history?first=${first}`);
}
