/** A person leaves the household, or is removed: his phone is told so, loses nothing, and goes on when he is asked back. */
import { expect, test } from 'vitest';
import { syncView } from '../src/pages/syncview';
import type { Reply } from '../src/sync/http';
import { openApi } from '../src/sync/doors';
import { begin, ME, says, START } from './machine/scene';

const WORDS = 'You are no longer in the household Reef Street. To come back, ask Carla for an invitation.';
const GONE: Reply = { status: 401, body: { error: { code: 'no_longer_member', message: WORDS, where: null } } };
const OUT: Reply = { status: 401, body: { error: { code: 'signed_out', message: 'You are signed out.', where: null } } };

test('whoever was removed is told so and by whom to ask, and is not asked to sign in', async () => {
  const scene = await begin();
  await says(scene, 'agreed');
  scene.instead = () => GONE;
  scene.happen('seen');
  await says(scene, 'signed_out');
  const view = syncView(scene.sync.status(), new Date(START));
  expect(view).toMatchObject({ text: WORDS, isSignedOut: true, maySignIn: false });
  scene.instead = () => OUT;
  scene.happen('seen');
  await expect.poll(() => syncView(scene.sync.status(), new Date(START)).maySignIn).toBe(true);
});

test('it takes effect in the middle of a long pull, and what had come down stays', async () => {
  let pages = 0;
  const scene = await begin((path) => (path.endsWith('/sync') && (pages += 1) > 1 ? GONE : undefined));
  const fields = { note: { value: 'x', stamp: '1764061800000.0000.zz99zz99' } };
  for (let n = 1; n <= 1500; n += 1) scene.server.rows.set(`r${n}`, { id: `r${n}`, kind: 'look', author: 'p-ben', device: 'zz99zz99', revision: n, fields, concurrent: [] });
  await says(scene, 'signed_out');
  expect(scene.sync.status().trouble).toBe(WORDS);
  expect(await scene.phone.store.ofKind('look')).toHaveLength(1000);
});

test('nothing is wiped, logging goes on, and what has not gone up can be exported', async () => {
  const scene = await begin();
  await says(scene, 'agreed');
  const tank = await scene.phone.store.add('tank', { name: 'Bay' });
  scene.instead = () => GONE;
  scene.happen('seen');
  await says(scene, 'signed_out');
  await scene.phone.store.add('look', { about: tank.id, mouth: 'full' });
  expect(await scene.phone.store.waiting()).toBe(2);
  const file = JSON.parse(await (await scene.phone.store.exportUnsynced()).text());
  expect(file.writes).toHaveLength(2);
  // Asking each minute would change nothing.
  scene.asked.length = 0;
  scene.happen('minute');
  expect(scene.asked).toEqual([]);
});

test('asked back as the same person, all that waited goes up', async () => {
  const scene = await begin();
  await says(scene, 'agreed');
  scene.instead = () => GONE;
  scene.happen('seen');
  await says(scene, 'signed_out');
  const look = await scene.phone.store.add('look', { mouth: 'full' });
  scene.instead = () => undefined;
  const door = openApi(scene.sync.entered, scene.phone.store.sync.device, async () => ({ status: 201, body: ME }));
  await door.join('a token', 'anna', 'ten letters and more');
  await says(scene, 'agreed');
  await expect.poll(() => scene.server.rows.get(look.id)?.author).toBe('p-anna');
  expect(await scene.phone.store.waiting()).toBe(0);
});
