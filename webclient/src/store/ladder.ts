/** The upgrades of the database, a rung a version: what is stored is carried up in place, never made anew. */
import type { IDBPDatabase, IDBPTransaction, StoreNames } from 'idb';
import type { Schema } from './schema';

type Climb = (db: IDBPDatabase<Schema>, tx: IDBPTransaction<Schema, StoreNames<Schema>[], 'versionchange'>) => void;

/** Rung n leads from version n to version n + 1; a rung that was released is never changed. */
export const LADDER: readonly Climb[] = [firstRung, secondRung, thirdRung];

export const STORE_VERSION = LADDER.length;

function firstRung(db: IDBPDatabase<Schema>): void {
  const records = db.createObjectStore('records', { keyPath: 'id' });
  records.createIndex('kind', 'kind');
  records.createIndex('about', ['fields.about.value', 'kind']);
  const outbox = db.createObjectStore('outbox', { keyPath: 'seq', autoIncrement: true });
  outbox.createIndex('record', 'record');
  outbox.createIndex('turn', ['state', 'by']);
  db.createObjectStore('derived', { keyPath: ['kind', 'about'] }).createIndex('kind', 'kind');
  db.createObjectStore('meta');
  db.createObjectStore('settings');
}

/** What two people wrote without knowing of each other is found without reading every record. */
function secondRung(_db: IDBPDatabase<Schema>, tx: Parameters<Climb>[1]): void {
  tx.objectStore('records').createIndex('concurrent', 'concurrent', { multiEntry: true });
}

function thirdRung(db: IDBPDatabase<Schema>): void {
  db.createObjectStore('photos', { keyPath: 'sha256' }).createIndex('state', 'state');
  db.createObjectStore('pictures', { keyPath: ['sha256', 'size'] }).createIndex('age', ['size', 'at_ms']);
}
