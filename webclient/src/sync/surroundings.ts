/** What the browser gives to sync: clocks, chance, timers, a lock between tabs, and the occasions to run. */
import type { Clocks } from './clock';
import { LOCK } from './lock';

export type Stop = () => void;
/** Why it may be worth running; `minute` is the mere passing of time. */
export type Occasion = 'seen' | 'online' | 'minute' | 'push';

export interface SyncSurroundings extends Clocks {
  /** From 0 up to 1. */
  random(): number;
  later(ms: number, then: () => void): Stop;
  /** Run the work while no other tab does. */
  alone(work: () => Promise<void>): Promise<void>;
  isOnline(): boolean;
  /** Call `occasion` when it may be worth running, and `offline` when the network goes. */
  occasions(occasion: (why: Occasion) => void, offline: () => void): Stop;
}

const MINUTE_MS = 60_000;

/** The browser's own. */
export const BROWSER: SyncSurroundings = {
  wallMs: () => Date.now(),
  elapsedMs: () => performance.now(),
  random: () => Math.random(),
  later: (ms, then) => {
    const timer = setTimeout(then, ms);
    return () => clearTimeout(timer);
  },
  alone: async (work) => {
    // Without locks, as on plain http, the visible tab is the one.
    if (navigator.locks) await navigator.locks.request(LOCK, work);
    else if (document.visibilityState === 'visible') await work();
  },
  isOnline: () => navigator.onLine,
  occasions: (occasion, offline) => {
    const isSeen = () => document.visibilityState === 'visible';
    const stops = [
      on(window, 'focus', () => occasion('seen')),
      on(document, 'visibilitychange', () => isSeen() && occasion('seen')),
      on(window, 'online', () => occasion('online')),
      on(window, 'offline', offline),
      on(navigator.serviceWorker, 'message', (event) => (event as MessageEvent).data?.type === 'push' && occasion('push')),
    ];
    const minutes = setInterval(() => isSeen() && occasion('minute'), MINUTE_MS);
    return () => [...stops, () => clearInterval(minutes)].forEach((stop) => stop());
  },
};

function on(target: EventTarget | undefined, name: string, heard: (event: Event) => void): Stop {
  target?.addEventListener(name, heard);
  return () => target?.removeEventListener(name, heard);
}
