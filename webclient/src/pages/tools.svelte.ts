/** What every page is handed: the store, the sync, the door to the server, the hour, and the person's address. */
import { createContext } from 'svelte';
import type { Store } from '../store';
import type { Api, Sync, SyncStatus } from '../sync';
import type { Update } from '../update';
import type { Address } from '../ui/address.svelte';
import type { Acts } from './acts.svelte';
import type { FirstSight } from './firstsight';
import type { Moment } from './moment.svelte';

/** What the frame is given by `main`. */
export interface Given {
  readonly store: Store;
  readonly sync: Sync;
  readonly door: Api;
  readonly clock: () => Date;
  readonly update: Update;
  readonly firstSight: FirstSight;
}
/** What the frame hands to the pages. */
export interface Tools {
  readonly store: Store;
  readonly sync: Sync;
  readonly status: SyncStatus;
  readonly door: Api;
  readonly moment: Moment;
  readonly address: Address;
  readonly acts: Acts;
  readonly firstSight: FirstSight;
}

export const [tools, handTools] = createContext<Tools>();
