/** The server's doors to how one wants to be reminded; loaded with the panel that needs them. */
import type { components } from '../records/api';
import { askFor } from './api';
import { fetchJson, type FetchJson } from './http';

type Schemas = components['schemas'];
export type Reminders = Schemas['Reminders'];
export type Wish = Schemas['Wish'];
export type Tried = Schemas['Tried']['result'];

const AT = 'reminders';

/** One's own wishes, told and said, and a reminder to try. */
export function openReminders(fetching: FetchJson = fetchJson) {
  return {
    ask: () => askFor<Reminders>(fetching, AT),
    say: (wish: Wish) => askFor<Reminders>(fetching, AT, { method: 'PUT', body: wish }),
    tryOut: async () => (await askFor<Schemas['Tried']>(fetching, `${AT}/test`, { method: 'POST' })).result,
  };
}
