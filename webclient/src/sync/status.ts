/** What sync says of itself, counted from the store. */
import { StoreTrouble, type Forget, type Store } from '../store';
import { joined } from '../store/news';
import { hasLeft, isSignedOut, Offline } from './api';

export interface SyncStatus {
  state: 'agreed' | 'working' | 'offline' | 'signed_out' | 'trouble';
  /** Writes that are not on the server yet; null until they were counted. */
  waiting: number | null;
  agreedAt: string | null;
  /** What is wrong: a store trouble's name or the server's words. */
  trouble: string | null;
  /** The server's clock less the phone's. */
  clockOffMs: number;
  /** How much of the household's records has come down, percent, while there is more to come. */
  coming?: number | undefined;
}

export interface Board {
  status(): SyncStatus;
  onStatus(listener: () => void): Forget;
  /** Say something new; what the store holds is counted again. */
  say(news: Partial<SyncStatus>): Promise<void>;
}

/** The board on which the status stands. */
export function statusBoard(store: Store, isOnline: boolean, clockOffMs: () => number): Board {
  const listeners = new Set<() => void>();
  let status: SyncStatus = {
    state: isOnline ? 'working' : 'offline',
    waiting: null,
    agreedAt: null,
    trouble: null,
    clockOffMs: 0,
  };
  const set = (news: Partial<SyncStatus>) => {
    status = { ...status, ...news, clockOffMs: clockOffMs() };
    listeners.forEach((listener) => listener());
  };
  return {
    status: () => status,
    onStatus: (listener) => joined(listeners, listener),
    say: async (news) => {
      // At once, for a round may end while it is counted.
      if (news.state === 'offline') set(news);
      set({ ...news, ...(await counted(store)) });
    },
  };
}

/** How to speak of that error. */
export function standingOf(error: unknown): Partial<SyncStatus> {
  if (error instanceof Offline) return { state: 'offline', trouble: null };
  if (isSignedOut(error)) return { state: 'signed_out', trouble: hasLeft(error) ? error.message : null };
  const trouble = error instanceof Error ? error : new Error(String(error));
  return { state: 'trouble', trouble: trouble instanceof StoreTrouble ? trouble.name : trouble.message };
}

async function counted(store: Store): Promise<Partial<SyncStatus>> {
  try {
    const [waiting, agreed] = [await store.waiting(), await store.sync.agreement()];
    return { waiting, agreedAt: agreed.agreed_at };
  } catch (error) {
    // The store itself is away: that is the news.
    if (error instanceof StoreTrouble) return standingOf(error);
    throw error;
  }
}
