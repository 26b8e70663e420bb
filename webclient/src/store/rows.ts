/** A record that came down, merged into the one that this phone holds. Pure. */
import type { Row, SaidRow } from '../records/exchange';
import type { Json } from '../records/json';
import { merge, type StampedFields } from '../records/merge';
import type { StoredRecord } from './schema';

/** The row with each stamp beside its value, in whichever shape it came. */
export function wholeRow({ fields, values, stamp, stamps, concurrent, ...identity }: SaidRow): Row {
  const own = new Map(Object.entries(stamps ?? {}));
  const told = Object.entries(values ?? {}).map(([name, value]) => [name, { value: value as Json, stamp: own.get(name) ?? stamp }]);
  return { ...identity, concurrent: concurrent ?? [], fields: (fields ?? Object.fromEntries(told)) as StampedFields };
}

/** The record with the row's fields merged in; kinds and fields that this client does not know are kept as they are. */
export function mergeRow(held: StoredRecord | undefined, row: Row): StoredRecord {
  const { id, kind, author, device, revision, concurrent } = row;
  const brought = row.brought_by === undefined ? {} : { brought_by: row.brought_by };
  if (held === undefined) {
    return { id, kind, author, device, revision, concurrent, ...brought, fields: merge({}, row.fields), waiting: 0 };
  }
  const fields = merge(held.fields, row.fields);
  const theirs = held.theirs === undefined ? {} : { theirs: merge(held.theirs, row.fields) };
  // A page that was overtaken tells old news of who did not know of whom.
  const news = revision >= (held.revision ?? 0) ? { revision, concurrent } : {};
  // Whose record it is the server says: a phone may have taken it over meanwhile of which nothing had been heard.
  return { ...held, kind, author, device, ...brought, fields, ...theirs, ...news };
}
