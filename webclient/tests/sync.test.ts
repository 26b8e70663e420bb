/** When sync runs, how many questions it asks, and what it says of itself. */
import { expect, test, vi } from 'vitest';
import type { Answer, Push } from '../src/records/exchange';
import { fetchJson, Offline, Refused } from '../src/sync';
import { backoffMs } from '../src/sync/backoff';
import { writtenIn } from './machine/household';
import { openApi } from '../src/sync/doors';
import { syncView } from '../src/pages/syncview';
import { begin, fireTimer, ME, says, START } from './machine/scene';

test('at the start it learns who is signed in and asks what is new', async () => {
  const scene = await begin();
  await says(scene, 'agreed');
  expect(scene.asked).toEqual(['me', 'sync 0']);
  expect(scene.sync.status()).toMatchObject({ waiting: 0, trouble: null, agreedAt: new Date(START).toISOString(), clockOffMs: 0 });
});

test('nothing is said of what waits until it was counted', async () => {
  const scene = await begin();
  expect(syncView(scene.sync.status(), new Date(START)).waiting).toBe('');
  await says(scene, 'agreed');
  expect(syncView(scene.sync.status(), new Date(START)).waiting).toBe('Nothing is waiting to go up.');
});

test('a round that ends after the connection has gone does not say that all is well', async () => {
  const scene = await begin((path) => {
    if (path.endsWith('sync')) scene.goOffline();
    return undefined;
  });
  await vi.waitFor(() => expect(scene.sync.status().agreedAt).not.toBeNull());
  await says(scene, 'offline');
});

test('a thousand records go up in two questions once the clock is known', async () => {
  const scene = await begin();
  await says(scene, 'agreed');
  for (let i = 0; i < 1000; i += 1) await scene.phone.store.add('look', { note: `${i}` });
  scene.asked.length = 0;
  fireTimer(scene);
  await vi.waitFor(() => expect(scene.sync.status()).toMatchObject({ state: 'agreed', waiting: 0 }), { timeout: 10_000 });
  expect(scene.asked).toEqual(['sync 500', 'sync 500']);
  expect(scene.server.rows.size).toBe(1000);
  // A thousand durable writes take seconds where others keep the machine busy.
}, 30_000);

test('what is waiting at the start is not sent before the clock is known', async () => {
  const scene = await begin(() => new Offline('no network'));
  await says(scene, 'offline');
  scene.phone.aheadMs = 3 * 3_600_000;
  const look = await scene.phone.store.add('look', { mouth: 'full' });
  scene.instead = () => undefined;
  scene.asked.length = 0;
  scene.happen('online');
  await says(scene, 'agreed');
  expect(scene.asked).toEqual(['me', 'sync 0', 'sync 1']);
  expect(scene.server.rows.get(look.id)?.fields['at']?.value).toBe(new Date(START).toISOString());
  expect(scene.sync.status().clockOffMs).toBe(-3 * 3_600_000);
});

test('when the wall clock was moved since the last answer, the time is asked for before anything is sent', async () => {
  const scene = await begin();
  await says(scene, 'agreed');
  scene.phone.aheadMs = 86_400_000;
  await scene.phone.store.add('look', { mouth: 'full' });
  scene.asked.length = 0;
  fireTimer(scene);
  await vi.waitFor(() => expect(scene.asked).toEqual(['sync 0', 'sync 1']));
  expect([...scene.server.rows.values()][0]?.fields['at']?.value).toBe(new Date(START).toISOString());
});

test('without a network it says so, goes on logging, and comes back at growing intervals', async () => {
  const scene = await begin(() => new Offline('no network'));
  await says(scene, 'offline');
  expect(fireTimer(scene)).toBe(1500);
  await vi.waitFor(() => expect(scene.timers).toHaveLength(1));
  expect(fireTimer(scene)).toBe(3000);
  await vi.waitFor(() => expect(scene.timers).toHaveLength(1));
  await scene.phone.store.add('look', { mouth: 'full' });
  await vi.waitFor(() => expect(scene.sync.status().waiting).toBe(1));
});

test('back-off doubles up to five minutes and is spread over its upper half', () => {
  expect([1, 2, 3, 8, 9, 50].map((failures) => backoffMs(failures, 1))).toEqual([2000, 4000, 8000, 256_000, 300_000, 300_000]);
  expect(backoffMs(3, 0)).toBe(4000);
});

test('signed out it says so, asks no more each minute, and goes on when somebody comes in', async () => {
  let signedIn = false;
  const refusal = { status: 401, body: { error: { code: 'signed_out', message: 'Sign in again.', where: null } } };
  const scene = await begin(() => (signedIn ? undefined : refusal));
  await says(scene, 'signed_out');
  const look = await scene.phone.store.add('look', { mouth: 'full' });
  scene.asked.length = 0;
  scene.happen('minute');
  expect(scene.asked).toEqual([]);
  signedIn = true;
  await scene.sync.entered(ME);
  await vi.waitFor(() => expect(scene.sync.status()).toMatchObject({ state: 'agreed', waiting: 0 }));
  expect(scene.server.rows.has(look.id)).toBe(true);
});

test('a server that computes is asked again a few times, and then let be', async () => {
  const scene = await begin();
  const answer = scene.server.answer;
  scene.server.answer = (push): Answer => ({ ...answer(push), recomputing: true });
  const waits = [];
  for (let i = 0; i < 6; i += 1) {
    await vi.waitFor(() => expect(scene.timers).toHaveLength(1));
    await says(scene, 'agreed');
    waits.push(fireTimer(scene));
  }
  await says(scene, 'agreed');
  await new Promise((resolve) => setTimeout(resolve, 20));
  expect(waits).toEqual([1500, 1500, 1500, 1500, 1500, 1500]);
  expect(scene.timers).toEqual([]);
});

test('one change that the server cannot read goes to attention and does not hold up the others', async () => {
  const scene = await begin();
  await says(scene, 'agreed');
  for (let i = 0; i < 20; i += 1) await scene.phone.store.add('look', { note: `${i}` });
  scene.instead = (_path, ask) => {
    const bad = (ask?.body as Push | undefined)?.changes.some((change) => writtenIn(change)['note']?.value === '13');
    return bad ? { status: 400, body: { error: { code: 'bad_request', message: 'cannot be read', where: null } } } : undefined;
  };
  fireTimer(scene);
  await vi.waitFor(() => expect(scene.sync.status()).toMatchObject({ state: 'agreed', waiting: 0 }));
  expect(scene.server.rows.size).toBe(19);
  expect(await scene.phone.store.attention()).toMatchObject([{ reason: 'cannot be read', fields: { note: '13' } }]);
});

test('a server that keeps saying that the clock is ahead is not asked without end', async () => {
  const scene = await begin();
  await says(scene, 'agreed');
  scene.server.judge = () => ({ verdict: 'clock' });
  await scene.phone.store.add('look', { mouth: 'full' });
  scene.asked.length = 0;
  fireTimer(scene);
  await vi.waitFor(() => expect(scene.asked).toEqual(['sync 1', 'sync 1']));
  await says(scene, 'agreed');
  await new Promise((resolve) => setTimeout(resolve, 20));
  expect(scene.asked).toHaveLength(2);
  expect(scene.sync.status().waiting).toBe(1);
});

test('trouble on the server is told in its words and tried again', async () => {
  const scene = await begin(() => ({ status: 503, body: { error: { code: 'busy', message: 'The database is busy.', where: null } } }));
  await says(scene, 'trouble');
  expect(scene.sync.status().trouble).toBe('The database is busy.');
  expect(scene.timers).toHaveLength(1);
});

test('what was logged stays in the queue while the server is busy, and goes up afterwards', async () => {
  const scene = await begin();
  await says(scene, 'agreed');
  const look = await scene.phone.store.add('look', { mouth: 'full' });
  scene.instead = () => ({ status: 503, body: { error: { code: 'busy', message: 'Nothing is lost; try again later.', where: null } } });
  fireTimer(scene);
  await says(scene, 'trouble');
  expect(scene.sync.status()).toMatchObject({ waiting: 1, trouble: 'Nothing is lost; try again later.' });
  scene.instead = () => undefined;
  fireTimer(scene);
  await vi.waitFor(() => expect(scene.sync.status()).toMatchObject({ state: 'agreed', waiting: 0 }));
  expect([...scene.server.rows.keys()]).toEqual([look.id]);
});

test('another household on this phone is refused by name, and its session ended', async () => {
  const scene = await begin();
  await says(scene, 'agreed');
  await scene.phone.store.add('look', { mouth: 'full' });
  const asked: string[] = [];
  const other = { ...ME, household: { id: 'h-2', name: 'Elsewhere' } };
  const door = openApi(scene.sync.entered, 'ab12cd34', async (path) => {
    asked.push(path);
    return path.endsWith('sign-out') ? { status: 204, body: null } : { status: 200, body: other };
  });
  await expect(door.signIn('anna', 'secret')).rejects.toMatchObject({ name: 'other_household' });
  expect(asked).toEqual(['/api/v1/sign-in', '/api/v1/sign-out']);
});

test('each way in says what stamps call this device, so that people can be told which phone wrote what', async () => {
  const sent: unknown[] = [];
  const door = openApi(async () => undefined, 'ab12cd34', async (_path, ask) => {
    sent.push((ask?.body as { device?: string }).device);
    return { status: 200, body: ME };
  });
  await door.signIn('anna', 'secret');
  await door.join('t', 'anna', 'secret');
  await door.setup('c', 'Reef Street', 'Anna', 'anna', 'secret');
  await door.recover('t', 'secret');
  expect(sent).toEqual(['ab12cd34', 'ab12cd34', 'ab12cd34', 'ab12cd34']);
});

test('a refusal carries the server\'s words and where they belong', async () => {
  const body = { error: { code: 'bad_request', message: 'Too short.', where: { password: ['too short'] } } };
  const door = openApi(async () => undefined, 'ab12cd34', async () => ({ status: 422, body }));
  const refused = await door.join('t', 'anna', 'x').catch((error: unknown) => error);
  expect(refused).toBeInstanceOf(Refused);
  expect(refused).toMatchObject({ status: 422, code: 'bad_request', message: 'Too short.', where: { password: ['too short'] } });
});

test('a long body goes up compressed, a short one as it is', async () => {
  const sent: RequestInit[] = [];
  vi.stubGlobal('fetch', async (_path: string, init: RequestInit) => {
    sent.push(init);
    return new Response('{"ok":true}', { headers: { 'Content-Type': 'application/json' } });
  });
  const long = { note: 'ä'.repeat(5000) };
  expect(await fetchJson('/api/v1/sync', { method: 'POST', body: long })).toEqual({ status: 200, body: { ok: true } });
  await fetchJson('/api/v1/sync', { method: 'POST', body: { note: 'a' } });
  expect(sent[0]?.headers).toMatchObject({ 'Content-Encoding': 'gzip', 'Content-Type': 'application/json' });
  const unpacked = (sent[0]?.body as Blob).stream().pipeThrough(new DecompressionStream('gzip'));
  expect(await new Response(unpacked).json()).toEqual(long);
  expect(sent[1]?.headers).not.toHaveProperty('Content-Encoding');
});

test('no answer, a cut-off answer, and the page of some wireless network in its place are all no network', async () => {
  const answers = [
    async () => { throw new TypeError('Failed to fetch'); },
    async () => { throw new DOMException('too long', 'TimeoutError'); },
    async () => new Response('{"now":"20', { headers: { 'Content-Type': 'application/json' } }),
    async () => new Response('<h1>Welcome to the café</h1>', { headers: { 'Content-Type': 'text/html' } }),
  ];
  for (const answer of answers) {
    vi.stubGlobal('fetch', answer);
    await expect(fetchJson('/api/v1/me')).rejects.toBeInstanceOf(Offline);
  }
});
