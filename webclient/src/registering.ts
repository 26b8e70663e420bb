/** Registering the service worker, and looking for a newer one; loaded when the first page stands. */

const WORKER = '/sw.js';
const HOUR_MS = 3_600_000;

/** Register it; `ready` is told of a newer one that waits, as often as one comes. */
export async function register(ready: (worker: ServiceWorker) => void): Promise<void> {
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
