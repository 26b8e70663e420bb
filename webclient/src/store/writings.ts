/** How the fields of a record came to hold what they hold, as far as this phone knows it without the server. */
import type { Json } from '../records/json';
import type { Stamp } from '../records/stamps';
import type { Inside } from './device';
import type { OutboxEntry, StoredRecord } from './schema';

/** A value that a field has, or had on this phone until another one came. */
export interface FieldWriting {
  field: string;
  value: Json;
  stamp: Stamp;
  /** The stamp that it replaced; undefined where the phone was not told. */
  was: Stamp | null | undefined;
  /** The person who wrote it, where it was written here. */
  by: string | null;
  /** The server does not have it yet. */
  waiting: boolean;
}

/** What stands by the server's word, and each writing of this phone that is still in its queue, in whatever state. */
export function writings(inside: Inside, id: string): Promise<FieldWriting[]> {
  return inside.connection.read(['records', 'outbox'], async (tx) => {
    const record = await tx.objectStore('records').get(id);
    if (record === undefined) return [];
    const entries = await tx.objectStore('outbox').index('record').getAll(id);
    // All that is brought back after a restore was written before, by whoever it was.
    const own = entries.filter((entry) => entry.state !== 'whole');
    return [...standing(record), ...own.flatMap(written)];
  });
}

function standing(record: StoredRecord): FieldWriting[] {
  const fields = Object.entries(record.theirs ?? record.fields);
  return fields.map(([field, { value, stamp }]) => ({ field, value, stamp, was: undefined, by: null, waiting: false }));
}

function written({ fields, by }: OutboxEntry): FieldWriting[] {
  return Object.entries(fields).map(([field, { value, stamp, was }]) => ({ field, value, stamp, was, by, waiting: true }));
}
