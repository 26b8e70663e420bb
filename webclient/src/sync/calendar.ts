/** The server's doors to one's own calendar; loaded with the panel that needs them. */
import type { components } from '../records/api';
import { askFor } from './api';
import { fetchJson, type FetchJson } from './http';

type Schemas = components['schemas'];
export type Calendar = Schemas['Calendar'];

const AT = 'calendar';

/** Whether there is one and since when, a new address for it, and its end. */
export function openCalendar(fetching: FetchJson = fetchJson) {
  return {
    ask: () => askFor<Calendar>(fetching, AT),
    renew: (names: boolean) => askFor<Schemas['CalendarMade']>(fetching, AT, { method: 'POST', body: { names } }),
    end: () => askFor<void>(fetching, AT, { method: 'DELETE' }),
  };
}
