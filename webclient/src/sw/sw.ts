/** The service worker: wires events to what cache, push and tap do. */
import { clientsClaim } from 'workbox-core';
import { openStore, type Store } from '../store';
import { agreeNow, WHEN_ONLINE } from './agreeing';
import { answerOffline } from './cache';
import { answerTap, noteReminder, showPush } from './push';

declare const self: ServiceWorkerGlobalScope;

answerOffline();
clientsClaim();

/** The phone's own store, as a page has it; opened when it is first needed, and again where that failed. */
let opened: Promise<Store> | undefined;
function store(): Promise<Store> {
  opened ??= openStore();
  opened.catch(() => (opened = undefined));
  return opened;
}
/** How many buttons this system shows under a notification. */
const most = (): number => (globalThis.Notification as unknown as { maxActions?: number } | undefined)?.maxActions ?? 0;

self.addEventListener('message', (event) => {
  // A new worker waits until the person says yes: something may be half typed.
  if (event.data?.type === 'SKIP_WAITING') event.waitUntil(self.skipWaiting());
});
self.addEventListener('push', (event) => {
  event.waitUntil(showPush(self, event.data, most()));
  event.waitUntil(store().then((kept) => noteReminder(self, kept, event.data, new Date())));
});
self.addEventListener('notificationclick', (event) => {
  event.waitUntil(answerTap(self, store, event, new Date()));
});
self.addEventListener('sync' as 'message', (event) => {
  if ((event as ExtendableEvent & { tag?: string }).tag === WHEN_ONLINE) event.waitUntil(store().then(agreeNow));
});
