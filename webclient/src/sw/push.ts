/** A push becomes a notification, and a tap on it opens the page it is about. */

/** What comes down in a push: the declarative form, read here where the browser does not read it itself. */
interface DeclarativePush {
  web_push: 8030;
  notification: NotificationOptions & { title: string; navigate: string };
}

const UNREADABLE = { title: 'Holdwatch', navigate: '/', body: 'Open Holdwatch to see what is to be done.' };

/** Show what was pushed; something is shown always, or the browser takes the subscription away. */
export async function showPush(worker: ServiceWorkerGlobalScope, data: PushMessageData | null): Promise<void> {
  const { title, navigate, data: extra, ...options } = notificationIn(data);
  const shown = worker.registration.showNotification(title, {
    icon: '/icons/fish-192.png',
    badge: '/icons/badge-96.png',
    ...options,
    data: { ...extra, navigate },
  });
  await Promise.all([shown, tellPages(worker)]);
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
