/** What a store is given from outside: the clocks, randomness and its name, so that a test can hand in its own. */
import { deviceName, type RandomBytes } from '../records/ids';
import type { Connection } from './connection';
import type { MetaValues, Person, Reading, Writing } from './schema';

export interface Surroundings {
  /** The name of the database and of the channel between tabs. */
  name: string;
  /** The phone's wall clock, milliseconds since 1970; it may be wrong. */
  now(): number;
  /** Milliseconds since the page began; no setting of the clock moves it. */
  elapsed(): number;
  /** Cryptographically strong random bytes. */
  random: RandomBytes;
}

/** The browser's own clocks and randomness; `crypto.randomUUID` is missing on plain http, this is not. */
export const BROWSER: Surroundings = {
  name: 'holdwatch',
  now: () => Date.now(),
  elapsed: () => performance.now(),
  random: (count) => crypto.getRandomValues(new Uint8Array(count)),
};

/** The store's inner parts, handed to each of its modules. */
export interface Inside {
  connection: Connection;
  surroundings: Surroundings;
  device: string;
  /** The name of this page session. */
  session: string;
}

/** One of the store's own values. */
export async function meta<K extends keyof MetaValues>(tx: Reading | Writing, key: K): Promise<MetaValues[K] | undefined> {
  return (await tx.objectStore('meta').get(key)) as MetaValues[K] | undefined;
}

/** Write one of the store's own values. */
export async function putMeta<K extends keyof MetaValues>(tx: Writing, key: K, value: MetaValues[K]): Promise<void> {
  await tx.objectStore('meta').put(value, key);
}

/** This device's name, made at the first opening and kept for ever. */
export async function nameDevice(connection: Connection, random: RandomBytes): Promise<string> {
  // Every later start only reads: a durable write would hold up the first screen.
  return (await connection.read(['meta'], (tx) => meta(tx, 'device'))) ?? christen(connection, random);
}

function christen(connection: Connection, random: RandomBytes): Promise<string> {
  return connection.write(['meta'], 'strict', async (tx) => {
    const known = await meta(tx, 'device');
    if (known !== undefined) return known;
    const device = deviceName(random);
    await putMeta(tx, 'device', device);
    return device;
  });
}

/** The person who logs on this phone, as its pages see him. */
export interface Self extends Person {
  device: string;
  /** Others may log on it as well. */
  isShared: boolean;
}

/** Who uses this phone, also while signed out. */
export function self(inside: Inside): Promise<Self | undefined> {
  return inside.connection.read(['meta'], async (tx) => {
    const [person, members] = [await meta(tx, 'self'), await meta(tx, 'members')];
    return person && { ...person, device: inside.device, isShared: (members?.length ?? 1) > 1 };
  });
}
