/** What lies in a store, as a file keeps it: taken from a database, and laid into one of the version that it was taken from. */
import { openDB, type IDBPDatabase } from 'idb';
import { LADDER } from '../../src/store/ladder';
import type { Schema } from '../../src/store/schema';

export interface Copy {
  version: number;
  stores: Record<string, [key: IDBValidKey | null, value: unknown][]>;
}

/** Lay the copy into a database of its own version. */
export async function lay(name: string, { version, stores }: Copy): Promise<void> {
  const db = await openDB<Schema>(name, version, {
    upgrade: (fresh, _from, _to, tx) => LADDER.slice(0, version).forEach((climb) => climb(fresh, tx)),
  });
  for (const [store, rows] of Object.entries(stores)) {
    for (const [key, value] of rows) await (db as unknown as { put(...what: unknown[]): Promise<unknown> }).put(store, read(value), ...(key === null ? [] : [key]));
  }
  db.close();
}

/** Bytes as they stand in a copy, which is JSON. */
interface Octets {
  octets: number[];
}

function written(value: unknown): unknown {
  if (typeof value !== 'object' || value === null) return value;
  const parts = Object.entries(value).map(([name, part]) => [name, part instanceof ArrayBuffer ? { octets: [...new Uint8Array(part)] } : part]);
  return Object.fromEntries(parts);
}

function read(value: unknown): unknown {
  if (typeof value !== 'object' || value === null) return value;
  const parts = Object.entries(value).map(([name, part]) => [name, (part as Octets | null)?.octets ? Uint8Array.from((part as Octets).octets).buffer : part]);
  return Object.fromEntries(parts);
}

/** All that lies in the database. */
export async function copyOf(db: IDBPDatabase<Schema>, version: number): Promise<Copy> {
  const stores: Copy['stores'] = {};
  for (const store of [...db.objectStoreNames]) {
    const tx = db.transaction(store);
    const [keys, values] = [await tx.store.getAllKeys(), await tx.store.getAll()];
    stores[store] = values.map((value, i) => [tx.store.keyPath === null ? (keys[i] as IDBValidKey) : null, written(value)]);
  }
  return { version, stores };
}
