/** How far the first sync of a large household is, as the status and its words tell it. */
import { expect, test } from 'vitest';
import { syncView } from '../src/pages/syncview';
import { begin, says, START } from './machine/scene';

function fill(scene: Awaited<ReturnType<typeof begin>>, count: number): void {
  const stamp = `${START}.0000.zz99zz99`;
  for (let revision = 1; revision <= count; revision += 1) {
    const id = `019abc8d-c900-7d9a-84fe-${String(revision).padStart(12, '0')}`;
    const fields = { mouth: { value: 'full', stamp } };
    scene.server.rows.set(id, { id, kind: 'look', author: 'p-bo', device: 'zz99zz99', revision, fields, concurrent: [] });
  }
}

test('while records come down it says how far it is, and then no more', async () => {
  const scene = await begin();
  fill(scene, 2500);
  const said: string[] = [];
  scene.sync.onStatus(() => said.push(`${scene.sync.status().coming ?? '-'}`));
  await says(scene, 'agreed');
  expect([...new Set(said)]).toEqual(['-', '40', '80']);
  expect(said.at(-1)).toBe('-');
  const { text } = syncView({ ...scene.sync.status(), state: 'working', coming: 40 }, new Date(START));
  expect(text).toBe('Records are coming: 40 %.');
}, 20_000);

test('a page that is broken off leaves nothing that says more is coming', async () => {
  const scene = await begin((path, ask) => {
    const cursor = (ask?.body as { cursor?: number } | undefined)?.cursor ?? 0;
    return path.endsWith('sync') && cursor > 0 ? new Error('broken off') : undefined;
  });
  fill(scene, 1500);
  await says(scene, 'trouble');
  expect(scene.sync.status().coming).toBeUndefined();
}, 20_000);
