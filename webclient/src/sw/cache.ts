/** What the worker answers without a network: the whole client, and its one page for every address. */
import { cleanupOutdatedCaches, createHandlerBoundToURL, precacheAndRoute, type PrecacheEntry } from 'workbox-precaching';
import { NavigationRoute, registerRoute } from 'workbox-routing';

declare const self: ServiceWorkerGlobalScope & { __WB_MANIFEST: (PrecacheEntry | string)[] };

// Addresses of the server's own, and anything with a dot, are no pages of the client.
const NOT_PAGES = [/^\/api\//, /^\/d\//, /\.[^/]*$/];

/** Keep every file of this build, and answer page loads with `index.html`. */
export function answerOffline(): void {
  precacheAndRoute(self.__WB_MANIFEST);
  cleanupOutdatedCaches();
  registerRoute(new NavigationRoute(createHandlerBoundToURL('/index.html'), { denylist: NOT_PAGES }));
}
