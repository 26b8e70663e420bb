/** The worker agrees with the server by itself where no page is there to do it. */
import type { Store } from '../store';
import { askAs, isSignedOut, Offline } from '../sync/api';
import { serverClock, type Clocks } from '../sync/clock';
import { fetchJson } from '../sync/http';
import { LOCK } from '../sync/lock';
import { agree } from '../sync/rounds';

/** Under this tag the browser wakes the worker when there is a connection again. */
export const WHEN_ONLINE = 'agree';
const CLOCKS: Clocks = { wallMs: () => Date.now(), elapsedMs: () => performance.now() };

/** Background Sync, which not every browser has. */
interface Waking {
  readonly sync?: { register(tag: string): Promise<void> };
}

/** Agree now; without a connection when there is one again: by a page, or where the browser can wake the worker by it. */
export async function agreeSoon(worker: ServiceWorkerGlobalScope, store: Store): Promise<void> {
  const pages = await worker.clients.matchAll({ type: 'window' });
  const seen = pages.filter((page) => page.visibilityState === 'visible');
  if (seen.length > 0) return seen.forEach((page) => page.postMessage({ type: 'push' }));
  try {
    await agreeNow(store);
  } catch (error) {
    if (!(error instanceof Offline)) throw error;
    await (worker.registration as Waking).sync?.register(WHEN_ONLINE);
  }
}

/** Send what who logs here has waiting, and fetch what is new. */
export async function agreeNow(store: Store): Promise<void> {
  const self = await store.self();
  if (self === undefined) return;
  askAs(async () => self.person);
  const parts = { store, fetchJson, around: CLOCKS, clock: serverClock(store.sync.session, CLOCKS) };
  try {
    await navigator.locks.request(LOCK, () => agree(parts, self.person, async () => undefined));
  } catch (error) {
    // It waits until somebody signs in; the pages say so.
    if (!isSignedOut(error)) throw error;
  }
}
