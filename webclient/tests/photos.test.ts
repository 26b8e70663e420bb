/** Photos on the phone: whole or not at all, up after their records, piece by piece, and never in the way of anything. */
import { createHash } from 'node:crypto';
import { afterEach, expect, test, vi } from 'vitest';
import type { Change } from '../src/records/exchange';
import { Offline } from '../src/sync';
import type { Reply } from '../src/sync/http';
import { ROOM, sendPhotos } from '../src/sync/photos';
import type { Parts } from '../src/sync/rounds';
import type { NewPicture } from '../src/store/photos';
import { Album } from './machine/album';
import { newServer, type HouseholdServer, writtenIn } from './machine/household';
import { newPhone, nextPush, restart, seeded, type Phone, type World } from './machine/world';

const START = Date.UTC(2026, 10, 25, 20, 10);
const BROOD = '01a2144b-2de8-79f6-9fb7-8a7b9312bd68';

afterEach(() => vi.restoreAllMocks());

function picture(bytes: number, seed = 1): NewPicture {
  const full = seeded(seed)(bytes);
  return { sha256: createHash('sha256').update(full).digest('hex'), full: full.buffer as ArrayBuffer, small: Uint8Array.from([seed]).buffer, width: 64, height: 48 };
}

interface Scene {
  world: World;
  phone: Phone;
  server: HouseholdServer;
  album: Album;
  /** Send the records that wait, and take what comes down. */
  agree(): Promise<void>;
  send(isWanted?: () => boolean): Promise<void>;
}

async function begin(): Promise<Scene> {
  const world = { nowMs: START };
  const scene = { world, phone: await newPhone(world, 1), server: newServer(world), album: new Album() } as Scene;
  scene.agree = async () => {
    const batch = await nextPush(world, scene.phone);
    await scene.phone.store.sync.take(batch, scene.server.answer(batch.request));
  };
  scene.send = (isWanted = () => false) => sendPhotos({ store: scene.phone.store, fetchJson: scene.album.fetchJson } as Parts, isWanted);
  return scene;
}

async function take({ phone, world }: Scene, bytes = 1000, seed = 1) {
  world.nowMs += (seed - 1) * 1000;
  const photos = await phone.store.photos();
  const taken = picture(bytes, seed);
  return { photos, taken, record: await photos.add({ about: BROOD }, taken) };
}

const refusal = (status: number, message: string): Reply => ({ status, body: { error: { code: 'no', message, where: null } } });

test('a photo is kept with its record and outbox entry, and is there after the browser was closed', async () => {
  const scene = await begin();
  const { taken, record } = await take(scene);
  await restart(scene.world, scene.phone);
  const { store } = scene.phone;
  expect((await store.get(record.id))?.fields).toEqual({ about: BROOD, at: new Date(START).toISOString(), sha256: taken.sha256, bytes: 1000, width: 64, height: 48 });
  expect(await store.waiting()).toBe(1);
  const photos = await store.photos();
  expect(new Uint8Array(await photos.picture(taken.sha256, 'full') as ArrayBuffer)).toEqual(new Uint8Array(taken.full));
  expect(await photos.pending()).toMatchObject([{ sha256: taken.sha256, bytes: 1000, state: 'waiting', had: 0 }]);
});

test('a full disk is said by name and leaves neither record nor picture', async () => {
  const scene = await begin();
  const photos = await scene.phone.store.photos();
  const real = IDBObjectStore.prototype.put;
  vi.spyOn(IDBObjectStore.prototype, 'put').mockImplementation(function (this: IDBObjectStore, ...row) {
    if (this.name === 'pictures') throw new DOMException('no room', 'QuotaExceededError');
    return real.apply(this, row);
  });
  await expect(photos.add({ about: BROOD }, picture(1000))).rejects.toMatchObject({ name: 'quota' });
  vi.restoreAllMocks();
  expect(await scene.phone.store.ofKind('photo')).toEqual([]);
  expect(await scene.phone.store.waiting()).toBe(0);
  expect(await photos.pending()).toEqual([]);
});

test('without room a picture that was looked at is not remembered, and that is no trouble', async () => {
  const photos = await (await begin()).phone.store.photos();
  vi.spyOn(IDBObjectStore.prototype, 'put').mockImplementation(() => {
    throw new DOMException('no room', 'QuotaExceededError');
  });
  await photos.remember('a'.repeat(64), 'small', new ArrayBuffer(3));
  vi.restoreAllMocks();
  expect(await photos.picture('a'.repeat(64), 'small')).toBeUndefined();
});

test('the bytes wait until the server has the record, and then go up in pieces', async () => {
  const scene = await begin();
  const { photos, taken } = await take(scene, 150_000);
  await scene.send();
  expect(scene.album.asked).toEqual([]);
  await scene.agree();
  await scene.send();
  expect(scene.album.asked).toEqual(['state', '0+65536', '65536+65536', '131072+18928']);
  expect(createHash('sha256').update(scene.album.parts.get(taken.sha256) as Uint8Array).digest('hex')).toBe(taken.sha256);
  expect(await photos.pending()).toEqual([]);
  await scene.send();
  expect(scene.album.asked).toHaveLength(4);
  expect(await scene.phone.store.setting(ROOM)).toMatchObject({ free_bytes: 10 ** 9 });
});

test('a record that the household refused keeps its bytes waiting and holds up no other', async () => {
  const scene = await begin();
  scene.server.judge = (change: Change) => (writtenIn(change)['bytes']?.value === 1000 ? { verdict: 'refused', reason: 'no such day' } : undefined);
  const { photos } = await take(scene, 1000);
  await take(scene, 2000, 2);
  await scene.agree();
  await scene.send();
  expect(scene.album.asked).toEqual(['state', '0+2000']);
  expect(await photos.pending()).toMatchObject([{ bytes: 1000, state: 'waiting' }]);
});

test('after a broken line it goes on where the server has come to', async () => {
  const scene = await begin();
  const { photos, taken } = await take(scene, 150_000);
  await scene.agree();
  let pieces = 0;
  scene.album.instead = (_path, ask) => (ask?.body && (pieces += 1) > 1 ? new Offline('gone') : undefined);
  await expect(scene.send()).rejects.toThrow('gone');
  expect(await photos.pending()).toMatchObject([{ had: 65_536 }]);
  await restart(scene.world, scene.phone);
  scene.album.instead = () => undefined;
  scene.album.asked.length = 0;
  await scene.send();
  expect(scene.album.asked).toEqual(['state', '65536+65536', '131072+18928']);
  expect(scene.album.kept.has(taken.sha256)).toBe(true);
});

test('all pieces there and the answer lost: the server is asked, and one empty piece ends it', async () => {
  const scene = await begin();
  const { taken } = await take(scene, 1000);
  await scene.agree();
  scene.album.parts.set(taken.sha256, new Uint8Array(taken.full));
  await scene.send();
  expect(scene.album.asked).toEqual(['state', '1000+0']);
});

test('another offset than the server wants is put right by its answer', async () => {
  const scene = await begin();
  const { taken } = await take(scene, 1000);
  await scene.agree();
  scene.album.instead = (_path, ask) => {
    if (!ask?.body || scene.album.parts.has(taken.sha256)) return undefined;
    scene.album.parts.set(taken.sha256, new Uint8Array(taken.full).slice(0, 400));
    return { status: 409, body: { error: { code: 'wrong_offset', message: 'go on', where: { offset: ['400'] } } } };
  };
  await scene.send();
  expect(scene.album.asked).toEqual(['state', '0+1000', '400+600']);
});

test('two phones that overtake each other without end do not keep this one busy', async () => {
  const scene = await begin();
  await take(scene, 1000);
  await scene.agree();
  scene.album.instead = (_path, ask) => (ask?.body ? { status: 409, body: { error: { code: 'wrong_offset', message: '', where: { offset: ['0'] } } } } : undefined);
  await scene.send();
  expect(scene.album.asked).toHaveLength(21);
});

test('what is written meanwhile has its turn first', async () => {
  const scene = await begin();
  await take(scene, 150_000);
  await scene.agree();
  await scene.send(() => scene.album.asked.length >= 2);
  expect(scene.album.asked).toEqual(['state', '0+65536']);
  await scene.send();
  expect(scene.album.kept.size).toBe(1);
});

test('a photo that the server refuses needs attention with its reason, and the next one goes up', async () => {
  const scene = await begin();
  const { photos, taken } = await take(scene, 1000);
  const next = await take(scene, 2000, 2);
  await scene.agree();
  scene.album.instead = (path, ask) => (path.includes(taken.sha256) && ask?.body ? refusal(422, 'This is no picture.') : undefined);
  await scene.send();
  expect(scene.album.kept).toEqual(new Set([next.taken.sha256]));
  expect(await photos.pending()).toMatchObject([{ sha256: taken.sha256, state: 'refused', reason: 'This is no picture.' }]);
  await scene.send();
  expect(scene.album.asked.filter((one) => one === 'state')).toHaveLength(2);
  scene.album.instead = () => undefined;
  await photos.note(taken.sha256, { state: 'waiting' });
  await scene.send();
  expect(await photos.pending()).toEqual([]);
});

test('one that was let go does not come back, and one that is chosen again is meant anew', async () => {
  const scene = await begin();
  const { photos, taken, record } = await take(scene, 1000);
  await photos.note(taken.sha256, { state: 'refused', reason: 'no' });
  await photos.letGo(taken.sha256);
  expect(await photos.pending()).toEqual([]);
  expect(await photos.picture(taken.sha256, 'full')).toBeUndefined();
  expect(await scene.phone.store.get(record.id)).toBeDefined();
  await photos.add({ about: BROOD }, taken);
  await photos.note(taken.sha256, { state: 'refused', reason: 'no' });
  await photos.add({ about: BROOD }, taken);
  expect(await photos.pending()).toMatchObject([{ state: 'waiting' }]);
});

test('without room on the server photos wait with its words, and go up when there is room', async () => {
  const scene = await begin();
  const { photos } = await take(scene, 1000);
  await take(scene, 2000, 2);
  await scene.agree();
  scene.album.instead = (_path, ask) => (ask?.body ? refusal(507, 'The disk is nearly full.') : undefined);
  await scene.send();
  expect(scene.album.asked).toEqual(['state', '0+1000']);
  expect((await photos.pending()).map(({ state, reason }) => [state, reason])).toEqual([['waiting', 'The disk is nearly full.'], ['waiting', undefined]]);
  scene.album.instead = () => undefined;
  await scene.send();
  expect(await photos.pending()).toEqual([]);
});

test('a server that knows nothing of photos is left in peace, and a fault of its own is told', async () => {
  const scene = await begin();
  await take(scene, 1000);
  await scene.agree();
  scene.album.instead = () => refusal(404, 'There is nothing at this address.');
  await scene.send();
  expect(scene.album.asked).toEqual(['state']);
  scene.album.instead = () => refusal(500, 'The server made a mistake.');
  await expect(scene.send()).rejects.toThrow('The server made a mistake.');
});

test('a photo taken back before it left the phone leaves nothing, one that was taken away does not go up', async () => {
  const scene = await begin();
  const first = await take(scene, 1000);
  await scene.phone.store.undo(first.record.id);
  const second = await take(scene, 2000, 2);
  await scene.agree();
  await scene.phone.store.undo(second.record.id);
  await scene.send();
  expect(scene.album.asked).toEqual([]);
  expect(await first.photos.pending()).toEqual([]);
  expect(await first.photos.picture(first.taken.sha256, 'full')).toBeUndefined();
  expect(await first.photos.picture(second.taken.sha256, 'full')).toBeDefined();
});

test('the same photo for two records goes up once, and as long as one of them stands', async () => {
  const scene = await begin();
  const { photos, taken, record } = await take(scene, 1000);
  await photos.add({ about: BROOD }, taken);
  await scene.phone.store.undo(record.id);
  await scene.agree();
  await scene.send();
  expect(scene.album.asked).toEqual(['state', '0+1000']);
});

test('after the server was restored it is asked again, and gets what it lost', async () => {
  const scene = await begin();
  const { photos, taken } = await take(scene, 1000);
  await scene.agree();
  await scene.send();
  scene.album.parts.clear();
  scene.album.kept.clear();
  scene.server.epoch = 'epoch-2';
  scene.server.rows.clear();
  for (let round = 0; round < 4; round += 1) await scene.agree();
  scene.album.asked.length = 0;
  await scene.send();
  expect(scene.album.asked).toEqual(['state', '0+1000']);
  expect(scene.album.kept.has(taken.sha256)).toBe(true);
  await scene.send();
  expect(scene.album.asked).toHaveLength(2);
  expect(await photos.pending()).toEqual([]);
});

test('pictures that were looked at are kept up to a number, and none of those that wait is ever dropped for them', async () => {
  const scene = await begin();
  const { photos, taken } = await take(scene, 1000);
  for (let i = 0; i < 30; i += 1) {
    scene.world.nowMs += 1000;
    await photos.remember(`${i}`.padStart(64, '0'), 'full', new ArrayBuffer(10));
  }
  const there = await Promise.all(Array.from({ length: 30 }, (_, i) => photos.picture(`${i}`.padStart(64, '0'), 'full')));
  expect(there.map((one) => one !== undefined)).toEqual(Array.from({ length: 30 }, (_, i) => i >= 6));
  expect(await photos.picture(taken.sha256, 'full')).toBeDefined();
});

test('clearing the phone takes its photos too', async () => {
  const { phone, ...rest } = await begin();
  const { photos, taken } = await take({ phone, ...rest }, 1000);
  await phone.store.clearPhone();
  expect(await photos.picture(taken.sha256, 'small')).toBeUndefined();
  expect(await photos.pending()).toEqual([]);
});
