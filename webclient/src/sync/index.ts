/** Sync: phone and server come to agree in the background; the phone never waits for it. */
import type { Forget, Store } from '../store';
import { Offline, type Me } from './api';
import type { FetchJson } from './http';
import type { Runner } from './runner';
import { standingOf, statusBoard, type SyncStatus } from './status';
import { BROWSER, type Occasion, type SyncSurroundings } from './surroundings';

export type { FetchJson } from './http';
export type { Api } from './doors';
export { askAs, laterApi, Offline, Refused, type Assumptions, type Dependence, type Glance, type Me } from './api';
export type { SyncStatus } from './status';
export type { SyncSurroundings } from './surroundings';

export interface Sync {
  status(): SyncStatus;
  onStatus(listener: () => void): Forget;
  /** Agree now, without waiting for the next occasion. */
  now(): void;
  /** Somebody signed in: keep who, and agree. */
  entered(me: Me): Promise<void>;
  stop(): void;
}

/** Ask the server, by what is loaded when it is first asked. */
export const fetchJson: FetchJson = async (...asked) => {
  const http = await import('./http').catch((cause: unknown) => {
    throw new Offline('the way to ask did not come', { cause });
  });
  return http.fetchJson(...asked);
};

// Long enough for a tap that follows on the first to go along with it.
const AFTER_WRITE_MS = 200;

/** Start agreeing once `begin` is over; it goes on until stopped. */
export function startSync(store: Store, fetchJson: FetchJson, begin: Promise<void>, around: SyncSurroundings = BROWSER): Sync {
  let [begun, runner]: [boolean, Runner | undefined] = [false, undefined];
  const board = statusBoard(store, around.isOnline(), () => runner?.offsetMs() ?? 0);
  const occasion = (why: Occasion) => {
    if (runner) runner.occasion(why);
    // What could not be fetched is said, and fetched again on the next occasion.
    else if (begun) bring().catch((error: unknown) => board.say(standingOf(error)));
  };
  // What agreeing alone needs is loaded when it begins: the first card comes before it.
  const bring = async () => {
    const { Runner, serverClock } = await import('./runner');
    if (runner || !begun) return;
    runner = new Runner({ store, fetchJson, around, clock: serverClock(store.sync.session, around) }, board);
    // Along with this one goes whatever came before.
    runner.occasion('seen');
  };
  const changed = (what: { kinds: Set<string> }) => {
    void board.say({});
    // Another tab signed in, and with it this one.
    if (what.kinds.has('self') && board.status().state === 'signed_out') occasion('seen');
  };
  const stops = [
    around.occasions(occasion, () => void board.say({ state: 'offline' })),
    store.sync.onWrite(() => runner?.soon(AFTER_WRITE_MS)),
    store.onChange(changed),
    () => runner?.stop(),
    () => (begun = false),
  ];
  void begin.then(() => {
    begun = true;
    occasion('seen');
  });
  return {
    status: board.status,
    onStatus: board.onStatus,
    now: () => occasion('seen'),
    entered: async (me) => {
      await store.sync.enter((await import('./runner')).personOf(me));
      occasion('seen');
    },
    stop: () => stops.forEach((stop) => stop()),
  };
}
