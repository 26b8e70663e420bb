/** A push becomes a notification; a tap on it opens the page it is about, a tap on its buttons does what they say. */
import { countDue, showBadge } from '../badge';
import { REMINDED_AT } from '../reminded';
import type { Store } from '../store';
import { aboutIn, carryOut, offered } from './acting';
import { agreeSoon } from './agreeing';

/** What comes down in a push: the declarative form, read here where the browser does not read it itself. */
interface DeclarativePush {
  web_push: 8030;
  notification: NotificationOptions & { title: string; navigate: string; actions?: unknown };
}

const UNREADABLE = { title: 'Holdwatch', navigate: '/', body: 'Open Holdwatch to see what is to be done.' };

/** Show what was pushed; something is shown always, or the browser takes the subscription away. */
export async function showPush(worker: ServiceWorkerGlobalScope, data: PushMessageData | null, most = 0): Promise<void> {
  const { title, navigate, data: extra, ...options } = notificationIn(data);
  const about = aboutIn(extra);
  const shown = worker.registration.showNotification(title, {
    icon: '/icons/fish-192.png',
    badge: '/icons/badge-96.png',
    // What the server says of the buttons goes before: a message that takes one back has none.
    ...{ actions: offered(about, most) },
    ...options,
    data: { ...extra, navigate },
  });
  await Promise.all([shown, tellPages(worker)]);
}

/** Note that a reminder was shown, and count what is due; what was just pushed may not have come down yet. */
export async function noteReminder(worker: ServiceWorkerGlobalScope, store: Store, data: PushMessageData | null, now: Date): Promise<void> {
  await store.keep(REMINDED_AT, now.toISOString());
  const least = aboutIn(notificationIn(data).data) === null ? 0 : 1;
  await showBadge(worker.navigator, Math.max(await countDue(store, now), least));
}

/** Do what was tapped: a button's act is carried out here; all else opens the page, where the same can be done. */
export async function answerTap(worker: ServiceWorkerGlobalScope, open: () => Promise<Store>, tap: { notification: Notification; action: string }, now: Date): Promise<void> {
  const about = aboutIn(tap.notification.data);
  const store = tap.action && about ? await carryOut(open, about, tap.action, now) : null;
  if (store === null) return openNotification(worker, tap.notification);
  tap.notification.close();
  await showBadge(worker.navigator, await countDue(store, now));
  await agreeSoon(worker, store);
}

/** Open the notification's page, in a window that is open already if there is one. */
export async function openNotification(worker: ServiceWorkerGlobalScope, notification: Notification): Promise<void> {
  notification.close();
  const address = ownAddress(worker, notification.data?.navigate);
  const [open] = await worker.clients.matchAll({ type: 'window', includeUncontrolled: true });
  if (open === undefined) return void (await worker.clients.openWindow(address));
  // The page goes there itself: a reload would lose what is half typed.
  open.postMessage({ type: 'open', address });
  await open.focus();
}

function notificationIn(data: PushMessageData | null): DeclarativePush['notification'] {
  try {
    const push = data?.json() as Partial<DeclarativePush> | undefined;
    return typeof push?.notification?.title === 'string' ? push.notification : UNREADABLE;
  } catch (error) {
    if (error instanceof SyntaxError) return UNREADABLE;
    throw error;
  }
}

function ownAddress(worker: ServiceWorkerGlobalScope, navigate: unknown): string {
  const here = new URL('/', worker.location.href);
  const there = new URL(typeof navigate === 'string' ? navigate : '/', here);
  return there.origin === here.origin ? there.href : here.href;
}

async function tellPages(worker: ServiceWorkerGlobalScope): Promise<void> {
  const pages = await worker.clients.matchAll({ type: 'window' });
  pages.forEach((page) => page.postMessage({ type: 'push' }));
}
