/** The service worker's coming and its updates: a newer client waits for the person's yes. */

export interface Update {
  /** Called when a newer client is ready, at once if it is already. */
  onReady(ready: () => void): () => void;
  /** The person said yes: change over and load the page anew. */
  take(): void;
}

const WORKER = '/sw.js';
const HOUR_MS = 3_600_000;

/** Register the worker once `begin` is over; look for a newer one then, on focus and hourly; nothing on plain http. */
export function watchUpdates(begin: Promise<void>): Update {
  const listeners = new Set<() => void>();
  let waiting: ServiceWorker | null = null;
  const ready = (worker: ServiceWorker) => {
    waiting = worker;
    listeners.forEach((listener) => listener());
  };
  if ('serviceWorker' in navigator) void begin.then(() => register(ready));
  return {
    onReady: (listener) => {
      listeners.add(listener);
      if (waiting !== null) listener();
      return () => void listeners.delete(listener);
    },
    take: () => {
      if (waiting === null) return;
      navigator.serviceWorker.addEventListener('controllerchange', () => location.reload(), { once: true });
      waiting.postMessage({ type: 'SKIP_WAITING' });
    },
  };
}

async function register(ready: (worker: ServiceWorker) => void): Promise<void> {
  const registration = await navigator.serviceWorker.register(workerAddress(), { updateViaCache: 'none' });
  const report = () => {
    // Without a controller this is the first worker, which replaces nothing.
    if (registration.waiting && navigator.serviceWorker.controller) ready(registration.waiting);
  };
  const follow = () => registration.installing?.addEventListener('statechange', report);
  report();
  follow();
  registration.addEventListener('updatefound', follow);
  const look = () => void lookForNewer(registration);
  addEventListener('focus', look);
  setInterval(look, HOUR_MS);
}

async function lookForNewer(registration: ServiceWorkerRegistration): Promise<void> {
  try {
    await registration.update();
  } catch (error) {
    // Without a network there is nothing to find; the next focus looks again.
    if (!(error instanceof TypeError)) throw error;
  }
}

interface TrustedTypes {
  createPolicy(name: string, rules: { createScriptURL(url: string): string }): { createScriptURL(url: string): unknown };
}

/** The worker's address in the form that the page's policy asks for: this one script and no other. */
function workerAddress(): string {
  const trusted = (globalThis as { trustedTypes?: TrustedTypes }).trustedTypes;
  if (trusted === undefined) return WORKER;
  const policy = trusted.createPolicy('holdwatch', { createScriptURL: () => WORKER });
  return policy.createScriptURL(WORKER) as string;
}
