/** What lies in the database, as one type. */
import type { DBSchema, IDBPDatabase, IDBPTransaction, StoreNames } from 'idb';
import type { Json } from '../records/json';
import type { StampedField, StampedFields } from '../records/merge';
import type { Stamp } from '../records/stamps';

/** A record as this phone holds it. */
export interface StoredRecord {
  id: string;
  kind: string;
  author: string;
  device: string;
  /** The household's revision at which it came down last; null while the server has not sent it. */
  revision: number | null;
  /** What is shown: the server's fields with everything that waits laid over them. */
  fields: StampedFields;
  /** The server's fields alone, kept while something waits. */
  theirs?: StampedFields;
  concurrent: string[];
  /** Who brought it back after a restore of the server, where that was not its author. */
  brought_by?: string;
  /** How many entries of the outbox are about it. */
  waiting: number;
}

export interface OutgoingField extends StampedField {
  was: Stamp | null;
}
export type OutgoingFields = Record<string, OutgoingField>;

/**
 * `waiting`: to be sent. `later`: the server does not know its fields yet. `refused`: needs attention.
 * `whole`: all that the phone holds of a record, brought back after the server was restored.
 */
export type OutboxState = 'waiting' | 'later' | 'refused' | 'whole';

/** One write that the server has not taken yet. */
export interface OutboxEntry {
  seq: number;
  /** The record's envelope, fixed for ever. */
  record: string;
  kind: string;
  author: string;
  device: string;
  /** The person who wrote it; it is sent while that person is signed in. */
  by: string;
  state: OutboxState;
  fields: OutgoingFields;
  /** The record's revision that its writer had before him; null if the server had never sent it. */
  seen: number | null;
  /** The phone's wall clock at the writing, milliseconds since 1970. */
  wall_ms: number;
  /** The page's own name and its `performance.now()`, which no setting of the clock moves. */
  session: string;
  elapsed_ms: number;
  /** Names of fields whose instant was read from the clock, not chosen by a person. */
  clocked: string[];
  /** Sent at least once: the server may have it, so its stamps stay. */
  sent: boolean;
  /** Sent, and sent back because the server's clock stood before its stamps: it may yet be taken from a late copy of that request. */
  returned?: boolean;
  /** Its times have been corrected by the server's clock already. */
  corrected: boolean;
  /** The server's time when the phone had last agreed with it: the writing came after that. */
  agreed_at?: string | null;
  /** Of what is brought back: other values stand there already, so it belongs to the past alone. */
  isReplaced?: boolean;
  /** The schema number of the server that said `later`. */
  schema?: number;
  /** Why it was refused, in the server's words. */
  reason?: string;
}

export interface DerivedRow {
  kind: string;
  /** Empty where it is about the whole household: IndexedDB knows no null in a key. */
  about: string;
  revision: number;
  body: unknown;
}

/** A photo that was taken on this phone; its bytes lie among the pictures. */
export interface PhotoRow {
  /** The SHA-256 of its bytes: its address for ever. */
  sha256: string;
  bytes: number;
  /** The records that name it. */
  records: string[];
  /** `waiting`: to go up. `kept`: the server has it. `refused`: needs attention. */
  state: 'waiting' | 'kept' | 'refused';
  /** How many of its bytes the server has. */
  had: number;
  /** Why it was refused or has to wait, in the server's words. */
  reason?: string;
  /** The server's epoch in which it was kept. */
  epoch?: string | null;
}

export type PictureSize = 'full' | 'small';

/** The bytes of a JPEG: of a photo taken here, or of one that was looked at. */
export interface PictureRow {
  sha256: string;
  size: PictureSize;
  data: ArrayBuffer;
  at_ms: number;
}

/** Who uses this phone: logs on it at present, where several share it. */
export interface Person {
  person: string;
  name: string;
  role: string;
  household: string;
  householdId: string;
}

/** Somebody who shares this phone with others of the household. */
export interface Member extends Person {
  /** The server knows no session of his here any more: what he logs waits for him to sign in. */
  isOut: boolean;
}

/** How far this phone and the server have come. */
export interface Agreement {
  cursor: number;
  database: string | null;
  /** The server's epoch that this phone last agreed with in full. */
  epoch: string | null;
  /** The epoch to which the phone is bringing back what it holds, null when nothing is brought back. */
  bringing: string | null;
  /** Everything above the cursor has come down since the epoch changed. */
  pulled: boolean;
  server_schema: number;
  /** The greatest stamps that the server holds, to this phone's knowledge: of anybody, and of this device. */
  greatest: Stamp | null;
  greatest_own: Stamp | null;
  agreed_at: string | null;
  /** The last epoch that began by a restore of the server, and how many records this phone has brought back to it. */
  set_back?: { epoch: string; brought: number };
}

export interface MetaValues {
  device: string;
  last: Stamp;
  self: Person;
  /** Those who may log here; absent where that is `self` alone, as on most phones. */
  members: Member[];
  agreement: Agreement;
}

export interface Schema extends DBSchema {
  records: { key: string; value: StoredRecord; indexes: { kind: string; about: [string, string]; concurrent: string } };
  outbox: { key: number; value: OutboxEntry; indexes: { record: string; turn: [OutboxState, string] } };
  derived: { key: [string, string]; value: DerivedRow; indexes: { kind: string } };
  meta: { key: string; value: unknown };
  settings: { key: string; value: Json };
  photos: { key: string; value: PhotoRow; indexes: { state: PhotoRow['state'] } };
  pictures: { key: [string, PictureSize]; value: PictureRow; indexes: { age: [PictureSize, number] } };
}

export type Name = StoreNames<Schema>;
export type Database = IDBPDatabase<Schema>;
export type Reading = IDBPTransaction<Schema, Name[], 'readonly'>;
export type Writing = IDBPTransaction<Schema, Name[], 'readwrite'>;

/** The range of the outbox's `turn` that holds one state, whoever wrote. */
export function inState(state: OutboxState): IDBKeyRange {
  // An array sorts after every text.
  return IDBKeyRange.bound([state], [state, []]);
}
