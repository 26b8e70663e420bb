/** The service worker: wires events to what cache, push and tap do; it decides nothing by the clock. */
import { clientsClaim } from 'workbox-core';
import { answerOffline } from './cache';
import { openNotification, showPush } from './push';

declare const self: ServiceWorkerGlobalScope;

answerOffline();
clientsClaim();

self.addEventListener('message', (event) => {
  // A new worker waits until the person says yes: something may be half typed.
  if (event.data?.type === 'SKIP_WAITING') event.waitUntil(self.skipWaiting());
});
self.addEventListener('push', (event) => event.waitUntil(showPush(self, event.data)));
self.addEventListener('notificationclick', (event) => event.waitUntil(openNotification(self, event.notification)));
