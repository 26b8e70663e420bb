/** One phone that several people of a household share: who logs, whose turn it is to send, who comes and goes. */
import { afterEach, expect, test, vi } from 'vitest';
import type { Push } from '../src/records/exchange';
import { startSync, type Sync } from '../src/sync';
import { openApi } from '../src/sync/doors';
import type { Ask, Reply } from '../src/sync/http';
import { openStore, type Person, type Store } from '../src/store';
import { newServer, type HouseholdServer } from './machine/household';
import { ANNA, newPhone, nextPush, type Phone, type World } from './machine/world';

const START = Date.UTC(2026, 10, 25, 20, 10);
const BEN: Person = { ...ANNA, person: 'p-ben', name: 'Ben', role: 'helper' };
const CLEO: Person = { ...ANNA, person: 'p-cleo', name: 'Cleo', role: 'keeper' };

interface Scene {
  world: World;
  phone: Phone;
  store: Store;
  server: HouseholdServer;
  sync: Sync | undefined;
  /** Who asked for what, by name. */
  asked: string[];
  /** Who has a session on this phone. */
  signedIn: Set<string>;
  /** Who has left the household. */
  left: Set<string>;
  /** An older server, which knows one person a phone and does not look at names. */
  onlyKnows: Person | null;
}

const open: Scene[] = [];

afterEach(async () => {
  for (const { sync, store } of open.splice(0)) {
    sync?.stop();
    await store.close();
  }
});

/** A phone on which these have signed in one after the other; the last one logs. */
async function shared(...people: Person[]): Promise<Scene> {
  const world = { nowMs: START };
  const phone = await newPhone(world, 7, null);
  for (const person of people) await phone.store.sync.enter(person);
  const bare = { world, phone, store: phone.store, server: newServer(world), asked: [], left: new Set<string>(), signedIn: new Set(people.map((one) => one.person)), onlyKnows: null };
  const scene: Scene = { ...bare, sync: undefined };
  refuseOthers(scene);
  open.push(scene);
  return scene;
}

let asking = '';

/** The server takes a new record from its author alone, as the real one does. */
function refuseOthers({ server }: Scene): void {
  server.judge = (change) => (server.rows.has(change.id) || change.author === asking ? undefined : { verdict: 'refused', reason: 'not his' });
}

async function serve(scene: Scene, path: string, ask?: Ask): Promise<Reply> {
  const person = scene.onlyKnows?.person ?? ask?.person ?? (await scene.store.self())?.person ?? '';
  const push = ask?.body as Push | undefined;
  scene.asked.push(`${person} ${push?.changes ? `sync ${push.changes.length}` : path.replace('/api/v1/', '')}`);
  if (scene.left.has(person)) return { status: 401, body: { error: { code: 'no_longer_member', message: 'You have left.', where: null } } };
  if (!scene.signedIn.has(person)) return { status: 401, body: { error: { code: 'signed_out', message: 'Sign in.', where: null } } };
  if (!push?.changes) return { status: 200, body: meOf([ANNA, BEN, CLEO].find((one) => one.person === person) as Person) };
  asking = person;
  return { status: 200, body: scene.server.answer(structuredClone(push)) };
}

function meOf({ person, name, role, household, householdId }: Person) {
  return { person: { id: person, name, role: role as 'owner' }, household: { id: householdId, name: household }, epoch: 'epoch-1', push_key: '' };
}

function start(scene: Scene): Sync {
  const { world, phone } = scene;
  scene.sync = startSync(scene.store, (path, ask) => serve(scene, path, ask), Promise.resolve(), {
    wallMs: () => world.nowMs + phone.aheadMs, elapsedMs: () => world.nowMs - phone.begunMs, random: () => 0.5, later: () => () => undefined,
    alone: (work) => work(), isOnline: () => true, occasions: () => () => undefined,
  });
  return scene.sync;
}

function says(scene: Scene, news: object): Promise<void> {
  return vi.waitFor(() => expect(scene.sync?.status()).toMatchObject(news), { timeout: 5000, interval: 2 });
}

const names = async (store: Store): Promise<string[]> => (await store.members()).map((one) => one.name);

test('whoever signs in logs from then on, and the others stay in the order in which they came', async () => {
  const { store } = await shared(ANNA, BEN, CLEO);
  expect(await names(store)).toEqual(['Anna', 'Ben', 'Cleo']);
  expect(await store.self()).toMatchObject({ name: 'Cleo' });
  await store.choose('p-anna');
  expect(await names(store)).toEqual(['Anna', 'Ben', 'Cleo']);
  expect(await store.self()).toMatchObject({ name: 'Anna', role: 'owner' });
  expect(await store.self()).not.toHaveProperty('isOut');
});

test('each record keeps its author, also when another corrects it, and a phone that was closed knows who logs', async () => {
  const { world, phone, store } = await shared(ANNA, BEN);
  const look = await store.add('look', { mouth: 'full' });
  await store.choose('p-anna');
  expect(await store.edit(look.id, { mouth: 'smaller' })).toMatchObject({ author: 'p-ben' });
  expect(await store.add('look', { mouth: 'full' })).toMatchObject({ author: 'p-anna' });
  await store.close();
  const again = await openStore({ name: phone.name, now: () => world.nowMs, elapsed: () => 0, random: phone.random });
  expect(await again.self()).toMatchObject({ name: 'Anna' });
  expect(await names(again)).toEqual(['Anna', 'Ben']);
  await again.close();
});

test('nobody who has not signed in here can be chosen', async () => {
  const { store } = await shared(ANNA, BEN);
  await expect(store.choose('p-cleo')).rejects.toMatchObject({ name: 'unknown' });
  expect(await store.self()).toMatchObject({ name: 'Ben' });
});

test('a phone of one person keeps no list, so that it is stored as ever', async () => {
  const { phone, store } = await shared(ANNA);
  await store.sync.meet({ ...ANNA, role: 'keeper' });
  expect(await store.self()).toMatchObject({ role: 'keeper' });
  await store.sync.enter(BEN);
  await store.sync.leave('p-ben');
  expect(await names(store)).toEqual(['Anna']);
  const db = await new Promise<IDBDatabase>((resolve) => { const asked = indexedDB.open(phone.name); asked.onsuccess = () => resolve(asked.result); });
  const keys = await new Promise((resolve) => { const asked = db.transaction('meta').objectStore('meta').getAllKeys(); asked.onsuccess = () => resolve(asked.result); });
  db.close();
  expect(keys).toEqual(['device', 'self']);
});

test('whoever signs out leaves the phone to another; the last one stays the one who logs', async () => {
  const { store } = await shared(ANNA, BEN);
  await store.sync.leave('p-ben');
  expect(await store.self()).toMatchObject({ name: 'Anna' });
  await store.sync.leave('p-anna');
  expect(await names(store)).toEqual([]);
  expect(await store.add('look', { mouth: 'full' })).toMatchObject({ author: 'p-anna' });
  // She signed herself out before he came: he alone may log here.
  await store.sync.enter(BEN);
  expect(await names(store)).toEqual(['Ben']);
});

test('an answer about somebody who signed out meanwhile does not bring him back', async () => {
  const { store } = await shared(ANNA, BEN);
  await store.sync.leave('p-ben');
  await store.sync.meet(BEN);
  expect(await names(store)).toEqual(['Anna']);
});

test('what each wrote goes up in his own name, without anybody signing in again', async () => {
  const scene = await shared(ANNA, BEN);
  await scene.store.add('look', { mouth: 'full' });
  await scene.store.choose('p-anna');
  await scene.store.add('look', { mouth: 'normal' });
  start(scene);
  await says(scene, { state: 'agreed', waiting: 0 });
  expect([...scene.server.rows.values()].map((row) => row.author).sort()).toEqual(['p-anna', 'p-ben']);
  expect(await scene.store.attention()).toEqual([]);
  expect(scene.asked.filter((one) => !one.endsWith('sync 0')).sort()).toEqual(['p-anna me', 'p-anna sync 1', 'p-ben me', 'p-ben sync 1']);
});

test('a person with nothing waiting has no turn', async () => {
  const scene = await shared(ANNA, BEN);
  start(scene);
  await says(scene, { state: 'agreed' });
  expect(new Set(scene.asked.map((one) => one.split(' ')[0]))).toEqual(new Set(['p-ben']));
});

test('an edit of what another wrote here and nobody else knows waits for it, back and forth', async () => {
  const scene = await shared(ANNA, BEN);
  const look = await scene.store.add('look', { mouth: 'full' });
  await scene.store.choose('p-anna');
  await scene.store.edit(look.id, { mouth: 'smaller' });
  const other = await scene.store.add('look', { note: 'hers' });
  await scene.store.choose('p-ben');
  await scene.store.edit(look.id, { mouth: 'normal' });
  await scene.store.edit(other.id, { note: 'his' });
  start(scene);
  await says(scene, { state: 'agreed', waiting: 0 });
  expect(await scene.store.attention()).toEqual([]);
  expect(scene.server.rows.get(look.id)).toMatchObject({ author: 'p-ben', fields: { mouth: { value: 'normal' } } });
  expect(scene.server.rows.get(other.id)).toMatchObject({ author: 'p-anna', fields: { note: { value: 'his' } } });
});

test('while its author cannot send it, an edit of it waits as well and is not refused', async () => {
  const scene = await shared(ANNA, BEN);
  const look = await scene.store.add('look', { mouth: 'full' });
  await scene.store.choose('p-anna');
  await scene.store.edit(look.id, { mouth: 'smaller' });
  scene.signedIn.delete('p-ben');
  const sync = start(scene);
  await says(scene, { state: 'agreed', waiting: 2 });
  expect(await scene.store.members()).toMatchObject([{ name: 'Anna', isOut: false }, { name: 'Ben', isOut: true }]);
  scene.signedIn.add('p-ben');
  await sync.entered(meOf(BEN));
  await says(scene, { state: 'agreed', waiting: 0 });
  expect(scene.server.rows.get(look.id)).toMatchObject({ author: 'p-ben', fields: { mouth: { value: 'smaller' } } });
});

test('a person whom the server does not know any more holds nobody else up, and is asked no more', async () => {
  const scene = await shared(BEN, ANNA);
  await scene.store.choose('p-ben');
  await scene.store.add('look', { mouth: 'full' });
  await scene.store.choose('p-anna');
  await scene.store.add('look', { mouth: 'normal' });
  scene.signedIn.delete('p-ben');
  const sync = start(scene);
  await says(scene, { state: 'agreed', waiting: 1 });
  expect([...scene.server.rows.values()].map((row) => row.author)).toEqual(['p-anna']);
  scene.asked.length = 0;
  sync.now();
  await vi.waitFor(() => expect(scene.asked).toEqual(['p-anna sync 0']));
});

test('what somebody who has left wrote needs attention, and goes up in another name by a person\'s word', async () => {
  const scene = await shared(BEN, ANNA);
  await scene.store.choose('p-ben');
  const look = await scene.store.add('look', { mouth: 'full' });
  await scene.store.choose('p-anna');
  scene.left.add('p-ben');
  const sync = start(scene);
  await says(scene, { state: 'agreed', waiting: 0 });
  expect(await names(scene.store)).toEqual(['Anna']);
  const [stranded] = await scene.store.attention();
  expect(stranded).toMatchObject({ by: 'p-ben', isNew: true, fields: { mouth: 'full' }, reason: expect.stringContaining('Ben is no longer in the household') });
  await scene.store.mend(stranded?.id ?? 0, {});
  sync.now();
  await vi.waitFor(() => expect(scene.server.rows.get(look.id)).toMatchObject({ author: 'p-anna' }));
});

test('where the one who logs is signed out, the others still send', async () => {
  const scene = await shared(BEN, ANNA);
  await scene.store.add('look', { mouth: 'normal' });
  await scene.store.choose('p-ben');
  await scene.store.add('look', { mouth: 'full' });
  scene.signedIn.delete('p-ben');
  const sync = start(scene);
  await says(scene, { state: 'signed_out', waiting: 1 });
  expect([...scene.server.rows.values()].map((row) => row.author)).toEqual(['p-anna']);
  await scene.store.choose('p-anna');
  sync.now();
  await says(scene, { state: 'agreed', waiting: 1 });
});

test('an older server, which answers for one person whoever is named, is sent nothing of the others', async () => {
  const scene = await shared(ANNA, BEN);
  await scene.store.add('look', { mouth: 'full' });
  await scene.store.choose('p-anna');
  await scene.store.add('look', { mouth: 'normal' });
  scene.onlyKnows = ANNA;
  start(scene);
  await says(scene, { state: 'agreed', waiting: 1 });
  expect([...scene.server.rows.values()].map((row) => row.author)).toEqual(['p-anna']);
  expect(await scene.store.attention()).toEqual([]);
});

test('what was refused needs the attention of the one who wrote it', async () => {
  const scene = await shared(ANNA, BEN);
  await scene.store.add('look', { mouth: 'full' });
  await scene.store.choose('p-anna');
  scene.server.judge = () => ({ verdict: 'refused', reason: 'no' });
  start(scene);
  await says(scene, { state: 'agreed', waiting: 0 });
  expect(await scene.store.attention()).toMatchObject([{ by: 'p-ben', reason: 'no' }]);
});

test('a clock that was wrong is put right in the order of the writing, whoever wrote', async () => {
  const { world, phone, store } = await shared(ANNA, BEN);
  phone.aheadMs = 3 * 3_600_000;
  await store.choose('p-anna');
  const look = await store.add('look', { mouth: 'full' });
  await store.choose('p-ben');
  await store.edit(look.id, { mouth: 'smaller' });
  await store.choose('p-anna');
  await store.edit(look.id, { mouth: 'normal' });
  await nextPush(world, phone);
  expect((await store.get(look.id))?.fields).toMatchObject({ mouth: 'normal', at: new Date(START).toISOString() });
  await store.choose('p-ben');
  await nextPush(world, phone);
  expect((await store.get(look.id))?.fields).toMatchObject({ mouth: 'normal' });
});

test('two tabs, of which one lets another person log: the other is told, and writes in that name', async () => {
  const { world, phone, store } = await shared(ANNA, BEN);
  const tab = await openStore({ name: phone.name, now: () => world.nowMs, elapsed: () => 0, random: phone.random });
  const heard = new Promise<Set<string>>((resolve) => tab.onChange(({ kinds }) => resolve(kinds)));
  await store.choose('p-anna');
  expect(await heard).toEqual(new Set(['self']));
  const [one, other] = await Promise.all([store.add('look', { mouth: 'full' }), tab.add('look', { mouth: 'full' })]);
  expect([one.author, other.author]).toEqual(['p-anna', 'p-anna']);
  expect(one.id).not.toBe(other.id);
  await tab.close();
});

test('two phones of one person write at once and agree, and of what both changed the later writing stands on both', async () => {
  const world = { nowMs: START };
  const [server, phones] = [newServer(world), [await newPhone(world, 11), await newPhone(world, 12)] as const];
  const [one, other] = [phones[0].store, phones[1].store];
  const agree = async (): Promise<void> => {
    for (const phone of [phones[0], phones[1], phones[0]]) {
      const batch = await nextPush(world, phone);
      await phone.store.sync.take(batch, server.answer(structuredClone(batch.request)));
    }
  };
  const broods = [await one.add('brood', {}), await one.add('brood', {})] as const;
  const look = await one.add('look', { mouth: 'full' });
  await agree();
  const [mine, theirs] = await Promise.all([one.add('look', { mouth: 'full' }), other.add('look', { mouth: 'full' })]);
  expect([mine.author, theirs.author]).toEqual(['p-anna', 'p-anna']);
  expect(mine.device).not.toBe(theirs.device);
  // Whose look it was is settled on each of them, without a connection, and differently.
  await one.edit(look.id, { about: broods[0].id });
  world.nowMs += 1000;
  await other.edit(look.id, { about: broods[1].id });
  await agree();
  for (const store of [one, other]) {
    expect(await store.ofKind('look')).toHaveLength(3);
    expect((await store.get(look.id))?.fields['about']).toBe(broods[1].id);
    expect(await store.waiting()).toBe(0);
    await store.close();
  }
});

test('somebody of another household who comes in is shown out in his own name', async () => {
  const scene = await shared(ANNA, BEN);
  const { store } = scene;
  await store.add('look', { mouth: 'full' });
  const sync = start(scene);
  await says(scene, { state: 'agreed' });
  const asked: (string | undefined)[] = [];
  const other = meOf({ ...CLEO, householdId: 'h-2' });
  const door = openApi(sync.entered, store.sync.device, async (path, ask) => {
    asked.push(path, ask?.person);
    return { status: 200, body: other };
  });
  await expect(door.signIn('cleo', 'secret')).rejects.toMatchObject({ name: 'other_household' });
  expect(asked).toEqual(['/api/v1/sign-in', undefined, '/api/v1/sign-out', 'p-cleo']);
  expect(await names(store)).toEqual(['Anna', 'Ben']);
});
