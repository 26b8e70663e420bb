/** What the service worker does with a push and with a tap on what it shows. */
import { expect, test, vi } from 'vitest';
import { openNotification, showPush } from '../src/sw/push';

type Worker = Parameters<typeof showPush>[0];

function newWorker(open: { focus: () => Promise<void>; postMessage: (message: object) => void }[] = []) {
  const shown: [string, Record<string, unknown>][] = [];
  const windows: string[] = [];
  const worker = {
    location: { href: 'https://watch.example/sw.js' },
    registration: { showNotification: async (title: string, options: Record<string, unknown>) => void shown.push([title, options]) },
    clients: { matchAll: async () => open, openWindow: async (address: string) => void windows.push(address) },
  };
  return { worker: worker as unknown as Worker, shown, windows };
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
