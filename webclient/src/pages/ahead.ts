/** Reading ahead: the few records on which all others hang are read by kind, then handed out from memory. */
import type { Choice, Rec, Store } from '../store';

const KINDS = ['brood', 'fish', 'tank'];

/**
 * The store as it stands now, for one reading of many parts: asking a database for one record after another costs a
 * turn of it each, and on a slow phone those turns are what the person waits for.
 */
export async function readAhead(store: Store): Promise<Store> {
  const lists = await Promise.all(KINDS.map((kind) => store.ofKind(kind, { gone: true })));
  const byKind = new Map(KINDS.map((kind, i) => [kind, lists[i] as Rec[]]));
  const byId = new Map(lists.flat().map((record) => [record.id, record]));
  return {
    ...store,
    get: async (id) => byId.get(id) ?? store.get(id),
    ofKind: async (kind, choice) => shownOf(byKind.get(kind), choice) ?? store.ofKind(kind, choice),
  };
}

function shownOf(records: Rec[] | undefined, choice: Choice | undefined): Rec[] | undefined {
  return choice?.gone ? records : records?.filter((record) => record.fields['gone'] !== true);
}
