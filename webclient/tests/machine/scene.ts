/** A phone whose sync runs against the small server, with timers and occasions in the test's own hand. */
import { afterEach, expect, vi } from 'vitest';
import type { Push } from '../../src/records/exchange';
import { startSync, type Sync, type SyncSurroundings } from '../../src/sync';
import type { Ask, Reply } from '../../src/sync/http';
import type { Occasion } from '../../src/sync/surroundings';
import { newServer, type HouseholdServer } from './household';
import { ANNA, newPhone, type Phone, type World } from './world';

export const START = Date.UTC(2026, 10, 25, 20, 10);
export const ME = { person: { id: 'p-anna', name: 'Anna', role: 'owner' as const }, household: { id: 'h-1', name: 'Reef Street' }, epoch: 'epoch-1', push_key: '' };

export interface Scene {
  world: World;
  phone: Phone;
  server: HouseholdServer;
  sync: Sync;
  asked: string[];
  timers: { ms: number; then: () => void }[];
  happen(why: Occasion): void;
  /** The system says that the connection has gone. */
  goOffline(): void;
  /** What answers instead of the server, if anything does. */
  instead: (path: string, ask?: Ask) => Reply | Error | undefined;
}

const scenes: Scene[] = [];

afterEach(async () => {
  vi.unstubAllGlobals();
  for (const { sync, phone } of scenes.splice(0)) {
    sync.stop();
    await phone.store.close();
  }
});

/** A phone that begins to agree; `instead` may answer in place of the server. */
export async function begin(instead: Scene['instead'] = () => undefined, seed = 1): Promise<Scene> {
  const world = { nowMs: START };
  const phone = await newPhone(world, seed, ANNA);
  const scene = { world, phone, server: newServer(world), asked: [] as string[], timers: [] as Scene['timers'], instead } as Scene;
  const around: SyncSurroundings = {
    wallMs: () => world.nowMs + phone.aheadMs,
    elapsedMs: () => world.nowMs - phone.begunMs,
    random: () => 0.5,
    later: (ms, then) => {
      const timer = { ms, then };
      scene.timers.push(timer);
      return () => void (scene.timers = scene.timers.filter((other) => other !== timer));
    },
    alone: (work) => work(),
    isOnline: () => true,
    occasions: (occasion, offline) => {
      [scene.happen, scene.goOffline] = [occasion, offline];
      return () => undefined;
    },
  };
  scene.sync = startSync(phone.store, (path, ask) => serve(scene, path, ask), Promise.resolve(), around);
  scenes.push(scene);
  return scene;
}

async function serve(scene: Scene, path: string, ask?: Ask): Promise<Reply> {
  const push = ask?.body as Push | undefined;
  scene.asked.push(push ? `sync ${push.changes.length}` : path.replace('/api/v1/', ''));
  const other = scene.instead(path, ask);
  if (other instanceof Error) throw other;
  if (other !== undefined) return other;
  return { status: 200, body: push ? scene.server.answer(structuredClone(push)) : ME };
}

/** Wait until sync says that. */
export function says(scene: Scene, state: string): Promise<void> {
  return vi.waitFor(() => expect(scene.sync.status().state).toBe(state), { timeout: 5000, interval: 2 });
}

/** Let the next timer run; how long it was to wait. */
export function fireTimer(scene: Scene): number {
  const timer = scene.timers.shift();
  if (timer === undefined) throw new Error('no timer was set');
  timer.then();
  return timer.ms;
}
