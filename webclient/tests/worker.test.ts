/** What the service worker does with a push, with a tap on what it shows and on its buttons. */
import 'fake-indexeddb/auto';
import { afterEach, expect, test, vi } from 'vitest';
import { openStore, StoreTrouble, type Store } from '../src/store';
import { REMINDED_AT } from '../src/reminded';
import { answerTap, noteReminder, openNotification, showPush } from '../src/sw/push';

type Worker = Parameters<typeof showPush>[0];

interface Page { focus: () => Promise<void>; postMessage: (message: object) => void; visibilityState?: string }

function newWorker(open: Page[] = []) {
  const shown: [string, Record<string, unknown>][] = [];
  const windows: string[] = [];
  const [woken, badges]: [string[], number[]] = [[], []];
  const worker = {
    location: { href: 'https://watch.example/sw.js' },
    registration: { sync: { register: async (tag: string) => void woken.push(tag) }, showNotification: async (title: string, options: Record<string, unknown>) => void shown.push([title, options]) },
    navigator: { setAppBadge: async (count: number) => void badges.push(count) },
    clients: { matchAll: async () => open, openWindow: async (address: string) => void windows.push(address) },
  };
  return { worker: worker as unknown as Worker, shown, windows, woken, badges };
}

const pushed = (text: string) => ({ json: () => JSON.parse(text) as unknown }) as Parameters<typeof showPush>[1];
const noteAt = (navigate: unknown) => ({ close: vi.fn(), data: { navigate } }) as unknown as Parameters<typeof openNotification>[1];

test('a push in the declarative form is shown with its text, tag and page, and open pages are told to agree', async () => {
  const postMessage = vi.fn();
  const { worker, shown } = newWorker([{ focus: async () => undefined, postMessage }]);
  const notification = { title: 'Catch tonight', body: '22:30', navigate: 'https://watch.example/brood/b?duty=k', lang: 'en', tag: 'k', data: { duty: 'k', brood: 'b' } };
  await showPush(worker, pushed(JSON.stringify({ web_push: 8030, notification })));
  const [title, options] = shown[0] as (typeof shown)[0];
  expect(title).toBe('Catch tonight');
  expect(options).toMatchObject({ body: '22:30', tag: 'k', lang: 'en', data: { duty: 'k', brood: 'b', navigate: notification.navigate } });
  expect(postMessage).toHaveBeenCalledWith({ type: 'push' });
});

test.each([['nothing', null], ['no JSON', pushed('%')], ['another form', pushed('{"title":5}')], ['null', pushed('null')]])(
  'a push that holds %s still shows something, or the browser would take the subscription away',
  async (_name, data) => {
    const { worker, shown } = newWorker();
    await showPush(worker, data);
    expect(shown).toHaveLength(1);
    expect(shown[0]?.[1]).toMatchObject({ data: { navigate: '/' } });
  },
);

test('a tap opens the page it is about', async () => {
  const { worker, windows } = newWorker();
  await openNotification(worker, noteAt('https://watch.example/brood/b?duty=k'));
  expect(windows).toEqual(['https://watch.example/brood/b?duty=k']);
});

test('a tap goes there in a window that is open already, without loading it anew', async () => {
  const [focus, postMessage] = [vi.fn(async () => undefined), vi.fn()];
  const { worker, windows } = newWorker([{ focus, postMessage }]);
  await openNotification(worker, noteAt('/brood/b'));
  expect(focus).toHaveBeenCalled();
  expect(postMessage).toHaveBeenCalledWith({ type: 'open', address: 'https://watch.example/brood/b' });
  expect(windows).toEqual([]);
});

test.each(['https://elsewhere.example/brood/b', 'javascript:alert(1)', 7, undefined])('a tap never leads away from here: %s', async (navigate) => {
  const { worker, windows } = newWorker();
  await openNotification(worker, noteAt(navigate));
  expect(windows).toEqual(['https://watch.example/']);
});

const NOW = new Date('2026-11-25T20:00:00Z');
const MIRA = { person: 'mira', name: 'Mira', role: 'keeper', household: 'Tern Quay 4', householdId: 'house' };
const ABOUT = { duty: 'look:b:2026-11-25', brood: 'b' };
let phones = 0;

async function newStore(...people: string[]): Promise<Store> {
  phones += 1;
  const store = await openStore({ name: `worker-${phones}`, now: () => NOW.getTime(), elapsed: () => 0, random: (count) => crypto.getRandomValues(new Uint8Array(count)) });
  for (const person of people) await store.sync.enter({ ...MIRA, person });
  return store;
}
const tapOn = (action: string, data: object = ABOUT) => {
  const notification = { close: vi.fn(), data: { ...data, navigate: '/brood/b?duty=k' } };
  return { notification: notification as unknown as Notification, action, close: notification.close };
};
afterEach(() => vi.unstubAllGlobals());

test('a notification about a duty has as many buttons as the system shows; others, and what takes one back, have none', async () => {
  const { worker, shown } = newWorker();
  const push = (more: object) => pushed(JSON.stringify({ notification: { title: 'Look', navigate: '/', ...more } }));
  await showPush(worker, push({ data: ABOUT }), 2);
  await showPush(worker, push({ data: ABOUT }), 3);
  await showPush(worker, push({ data: ABOUT }));
  await showPush(worker, push({}), 3);
  await showPush(worker, push({ data: ABOUT, actions: [] }), 3);
  const names = shown.map(([, options]) => (options['actions'] as { action: string }[]).map((one) => one.action));
  expect(names).toEqual([['done', 'later'], ['done', 'later', 'taken'], [], [], []]);
});

test.each([
  ['done', { what: 'done' }],
  ['later', { what: 'later', until: '2026-11-25T20:30:00.000Z' }],
  ['taken', { what: 'taken' }],
])('the button %s writes the mark with what sends it, and asks a page that is seen to agree', async (action, said) => {
  const [postMessage, store] = [vi.fn(), await newStore('mira')];
  const { worker, windows } = newWorker([{ focus: async () => undefined, postMessage, visibilityState: 'visible' }]);
  const tap = tapOn(action);
  await answerTap(worker, async () => store, tap, NOW);
  const [mark] = await store.about('b', 'mark');
  expect(mark).toMatchObject({ author: 'mira', waiting: true });
  expect(mark?.fields).toEqual({ about: 'b', at: NOW.toISOString(), at_error_min: 0, duty: ABOUT.duty, ...said });
  expect(await store.waiting()).toBe(1);
  expect(postMessage).toHaveBeenCalledWith({ type: 'push' });
  expect(tap.close).toHaveBeenCalled();
  expect(windows).toEqual([]);
});

test('where no page is seen and there is no connection, it is queued until the browser wakes the worker', async () => {
  vi.stubGlobal('navigator', { locks: { request: async (_name: string, work: () => Promise<unknown>) => work() } });
  vi.stubGlobal('fetch', async () => Promise.reject(new TypeError('no network')));
  const store = await newStore('mira');
  const { worker, woken } = newWorker();
  await answerTap(worker, async () => store, tapOn('done'), NOW);
  expect(await store.waiting()).toBe(1);
  expect(woken).toEqual(['agree']);
});

test.each([['several share the phone', ['mira', 'jonas']], ['nobody has signed in', []]])('where %s a button opens the page and writes nothing', async (_name, people) => {
  const store = await newStore(...people);
  const { worker, windows } = newWorker();
  await answerTap(worker, async () => store, tapOn('done'), NOW);
  expect(await store.about('b', 'mark')).toEqual([]);
  expect(windows).toEqual(['https://watch.example/brood/b?duty=k']);
});

test('where the store cannot be opened a button opens the page, which says why', async () => {
  const { worker, windows } = newWorker();
  await answerTap(worker, async () => Promise.reject(new StoreTrouble('lost')), tapOn('done'), NOW);
  expect(windows).toEqual(['https://watch.example/brood/b?duty=k']);
});

test('a tap beside the buttons opens the page and writes nothing', async () => {
  const store = await newStore('mira');
  const { worker, windows } = newWorker();
  await answerTap(worker, async () => store, tapOn(''), NOW);
  await answerTap(worker, async () => store, tapOn('done', {}), NOW);
  expect(await store.waiting()).toBe(0);
  expect(windows).toHaveLength(2);
});

test('a push is noted for the page about reminders, and counted on the badge', async () => {
  const store = await newStore('mira');
  const { worker, badges } = newWorker();
  await noteReminder(worker, store, pushed(JSON.stringify({ notification: { title: 'Look', navigate: '/', data: ABOUT } })), NOW);
  expect(await store.setting(REMINDED_AT)).toBe(NOW.toISOString());
  expect(badges).toEqual([1]);
});
