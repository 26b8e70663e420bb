/** One phone that several people of a household share, before a server that knows them by name. */
import { afterEach, expect, vi } from 'vitest';
import type { Push } from '../../src/records/exchange';
import { startSync, type Sync } from '../../src/sync';
import type { Ask, Reply } from '../../src/sync/http';
import type { Person, Store } from '../../src/store';
import { newServer, type HouseholdServer } from './household';
import { ANNA, newPhone, type Phone, type World } from './world';

export const START = Date.UTC(2026, 10, 25, 20, 10);
export const BEN: Person = { ...ANNA, person: 'p-ben', name: 'Ben', role: 'helper' };
export const CLEO: Person = { ...ANNA, person: 'p-cleo', name: 'Cleo', role: 'keeper' };

/** A phone, its server, and what was asked of it. */
export interface Scene {
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
export async function shared(...people: Person[]): Promise<Scene> {
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

/** That person as the server tells of him. */
export function meOf({ person, name, role, household, householdId }: Person) {
  return { person: { id: person, name, role: role as 'owner' }, household: { id: householdId, name: household }, epoch: 'epoch-1', push_key: '' };
}

/** Let the phone agree with the server. */
export function start(scene: Scene): Sync {
  const { world, phone } = scene;
  scene.sync = startSync(scene.store, (path, ask) => serve(scene, path, ask), Promise.resolve(), {
    wallMs: () => world.nowMs + phone.aheadMs, elapsedMs: () => world.nowMs - phone.begunMs, random: () => 0.5, later: () => () => undefined,
    alone: (work) => work(), isOnline: () => true, occasions: () => () => undefined,
  });
  return scene.sync;
}

/** Wait until sync says that. */
export function says(scene: Scene, news: object): Promise<void> {
  return vi.waitFor(() => expect(scene.sync?.status()).toMatchObject(news), { timeout: 5000, interval: 2 });
}

/** Who may log, by name. */
export const names = async (store: Store): Promise<string[]> => (await store.members()).map((one) => one.name);
