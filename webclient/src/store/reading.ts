/** Reading records and what was derived; pages see plain values, without stamps. */
import { instantMs } from '../records/instants';
import type { Json } from '../records/json';
import type { Fields } from '../records/kinds';
import type { Stamp } from '../records/stamps';
import type { Connection } from './connection';
import type { StoredRecord } from './schema';

/** A record as pages see it. */
export interface Rec {
  id: string;
  kind: string;
  author: string;
  device: string;
  revision: number | null;
  fields: Fields;
  /** Fields that two people wrote without knowing of each other, and of which nobody on this phone has settled it. */
  concurrent: string[];
  /** Who brought it back after a restore of the server, where that was not its author. */
  broughtBy?: string | undefined;
  /** Of a mark: its stamp, by which marks sort as they were made, also where a clock was wrong. */
  made?: Stamp | undefined;
  /** Something of it is not on the server yet. */
  waiting: boolean;
}

export interface Choice {
  /** Also those that were taken away. */
  gone?: boolean;
}

/** A stored record as pages see it. */
export function shown(record: StoredRecord): Rec {
  const { id, kind, author, device, revision, theirs } = record;
  // What this phone has written over it since waits to be sent, and is taken for the answer meanwhile.
  const concurrent = record.concurrent.filter((name) => !theirs || theirs[name]?.stamp === record.fields[name]?.stamp);
  const values = Object.entries(record.fields).map(([name, field]): [string, Json] => [name, field.value]);
  return { id, kind, author, device, revision, concurrent, broughtBy: record.brought_by, made: record.fields['what']?.stamp, fields: Object.fromEntries(values), waiting: record.waiting > 0 };
}

/** The record with that id, also when it was taken away. */
export async function get(connection: Connection, id: string): Promise<Rec | undefined> {
  const record = await connection.read(['records'], (tx) => tx.objectStore('records').get(id));
  return record && shown(record);
}

/** All records of a kind, ordered by `at`. */
export async function ofKind(connection: Connection, kind: string, choice: Choice = {}): Promise<Rec[]> {
  const found = await connection.read(['records'], (tx) => tx.objectStore('records').index('kind').getAll(kind));
  return inOrder(found, choice);
}

/** The records of a kind that belong to the record `id`, ordered by `at`. */
export async function about(connection: Connection, id: string, kind: string, choice: Choice = {}): Promise<Rec[]> {
  const found = await connection.read(['records'], (tx) => tx.objectStore('records').index('about').getAll([id, kind]));
  return inOrder(found, choice);
}

/** What the server derived of that kind about that record, or about the household (null). */
export async function derived<T>(connection: Connection, kind: string, of: string | null): Promise<T | undefined> {
  const row = await connection.read(['derived'], (tx) => tx.objectStore('derived').get([kind, of ?? '']));
  return row?.body as T | undefined;
}

/** All that the server derived of that kind. */
export async function derivedOf<T>(connection: Connection, kind: string): Promise<{ about: string | null; body: T }[]> {
  const rows = await connection.read(['derived'], (tx) => tx.objectStore('derived').index('kind').getAll(kind));
  return rows.map((row) => ({ about: row.about === '' ? null : row.about, body: row.body as T }));
}

function inOrder(records: readonly StoredRecord[], choice: Choice): Rec[] {
  const there = records.map(shown).filter((record) => choice.gone === true || record.fields['gone'] !== true);
  // Ids rise with time, so records of one instant, and those without any, stay in the order of their making.
  return there.sort((a, b) => atMs(a) - atMs(b) || (a.id < b.id ? -1 : 1));
}

function atMs(record: Rec): number {
  return instantMs(record.fields['at']) ?? 0;
}
