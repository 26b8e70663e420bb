/** The connection to the database: opened when needed, opened again once when the browser loses it. */
import { openDB } from 'idb';
import { LADDER, STORE_VERSION } from './ladder';
import type { Database, Name, Reading, Schema, Writing } from './schema';
import { StoreTrouble, isLost, named } from './trouble';

export interface Connection {
  read<T>(stores: Name[], body: (tx: Reading) => Promise<T>): Promise<T>;
  /** One transaction: all that the body writes, or nothing; resolves when it is complete. */
  write<T>(stores: Name[], durability: IDBTransactionDurability, body: (tx: Writing) => Promise<T>): Promise<T>;
  close(): Promise<void>;
}

type Work<T> = (db: Database) => Promise<T>;

/** A connection to the database of that name; nothing is opened before the first use. */
export function connect(name: string): Connection {
  let opened: Promise<Database> | null = null;
  const forget = () => {
    opened = null;
  };
  const open = () => (opened ??= openDatabase(name, forget));
  const run = <T>(work: Work<T>) => runTwice(open, forget, work);
  return {
    read: (stores, body) => run((db) => settle(db.transaction(stores, 'readonly'), body)),
    write: (stores, durability, body) =>
      run((db) => settle(db.transaction(stores, 'readwrite', { durability }), body)),
    close: async () => {
      const db = await opened;
      forget();
      db?.close();
    },
  };
}

function openDatabase(name: string, forget: () => void): Promise<Database> {
  const opening = openDB<Schema>(name, STORE_VERSION, {
    upgrade: (fresh, from, _to, tx) => LADDER.slice(from).forEach((climb) => climb(fresh, tx)),
    // A newer client in another tab wants to upgrade: let it, rather than block it.
    blocking: (_current, _blocked, event) => {
      forget();
      (event.target as IDBDatabase).close();
    },
    terminated: forget,
  });
  // What could not be opened now may be opened at the next try.
  opening.catch(forget);
  return opening;
}

async function runTwice<T>(open: () => Promise<Database>, forget: () => void, work: Work<T>): Promise<T> {
  try {
    return await work(await open());
  } catch (error) {
    if (!isLost(error)) throw named(error);
    // The same connection would fail again at once, so the second try gets a new one.
    forget();
  }
  try {
    return await work(await open());
  } catch (error) {
    throw isLost(error) ? new StoreTrouble('lost', error) : named(error);
  }
}

interface Settling {
  readonly done: Promise<void>;
  readonly error: DOMException | null;
  abort(): void;
}

async function settle<Tx extends Settling, T>(tx: Tx, body: (tx: Tx) => Promise<T>): Promise<T> {
  const outcome = tx.done.then(
    () => null,
    (error: unknown) => ({ error }),
  );
  let result: T;
  try {
    result = await body(tx);
  } catch (error) {
    await abort(tx, outcome);
    throw tx.error ?? error;
  }
  const failed = await outcome;
  if (failed !== null) throw tx.error ?? failed.error;
  return result;
}

async function abort(tx: Settling, outcome: Promise<unknown>): Promise<void> {
  try {
    tx.abort();
  } catch (error) {
    // It has been aborted already, by the very error that brought us here.
    if (!isLost(error)) throw error;
  }
  await outcome;
}
