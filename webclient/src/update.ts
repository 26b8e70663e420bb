/** The service worker's coming and its updates: a newer client waits for the person's yes. */

export interface Update {
  /** Called when a newer client is ready, at once if it is already. */
  onReady(ready: () => void): () => void;
  /** The person said yes: change over and load the page anew. */
  take(): void;
}

/** Register the worker once `begin` is over; look for a newer one then, on focus and hourly; nothing on plain http. */
export function watchUpdates(begin: Promise<void>): Update {
  const listeners = new Set<() => void>();
  let waiting: ServiceWorker | null = null;
  const ready = (worker: ServiceWorker) => {
    waiting = worker;
    listeners.forEach((listener) => listener());
  };
  if ('serviceWorker' in navigator) void begin.then(async () => (await import('./registering')).register(ready));
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
