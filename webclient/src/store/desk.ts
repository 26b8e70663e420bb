/** The records that one transaction works on: each read once, written once when the work is done. */
import type { StoredRecord, Writing } from './schema';

export interface Desk {
  tx: Writing;
  record(id: string): Promise<StoredRecord | undefined>;
  put(record: StoredRecord): void;
  /** Write all that was put. */
  close(): Promise<void>;
}

/** An empty desk in that transaction; the kinds of what is put are noted in `kinds`. */
export function openDesk(tx: Writing, kinds: Set<string>): Desk {
  const records = new Map<string, StoredRecord>();
  return {
    tx,
    record: async (id) => records.get(id) ?? tx.objectStore('records').get(id),
    put: (record) => {
      kinds.add(record.kind);
      records.set(record.id, record);
    },
    close: async () => {
      await Promise.all(Array.from(records.values(), (record) => tx.objectStore('records').put(record)));
    },
  };
}
