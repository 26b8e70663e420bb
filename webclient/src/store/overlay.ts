/** What is shown of a record: the server's fields with everything that waits laid over them. */
import { merge, type StampedFields } from '../records/merge';
import type { OutboxEntry, StoredRecord, Writing } from './schema';
import { StoreTrouble } from './trouble';

/** The record laid out anew from the server's fields and those entries; nothing waiting, nothing laid over. */
export function laidOut(record: StoredRecord, entries: readonly OutboxEntry[]): StoredRecord {
  const { theirs, ...rest } = record;
  const below = theirs ?? record.fields;
  const fields = entries.reduce<StampedFields>((shown, entry) => merge(shown, entry.fields), below);
  const waiting = entries.length;
  return waiting === 0 ? { ...rest, fields, waiting } : { ...rest, theirs: below, fields, waiting };
}

/** The record laid out anew from what its transaction finds in the outbox; it is not written. */
export async function overlay(tx: Writing, id: string): Promise<StoredRecord> {
  const record = await tx.objectStore('records').get(id);
  if (record === undefined) throw new StoreTrouble('unknown');
  return laidOut(record, await tx.objectStore('outbox').index('record').getAll(id));
}

/** Whether the server has nothing of that record, as far as this phone has been told. */
export function isUnheardOf({ revision, theirs }: StoredRecord): boolean {
  return revision === null && theirs !== undefined && Object.keys(theirs).length === 0;
}

/** The entry of the outbox with that number. */
export async function needEntry(tx: Writing, seq: number): Promise<OutboxEntry> {
  const entry = await tx.objectStore('outbox').get(seq);
  if (entry === undefined) throw new StoreTrouble('unknown');
  return entry;
}
