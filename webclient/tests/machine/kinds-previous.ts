/**
 * What a client of schema number 2 knew: nothing of who is away or whose turn it is, and no nursery. Fields it may name
 * as it likes.
 */
import { isKnown as isKnownNow } from '../../src/records/kinds';

export * from '../../src/records/kinds';

export const SCHEMA_NUMBER = 2;

const NEW_SINCE = ['absence', 'rota', 'batch', 'food', 'culture', 'count', 'water_test', 'water_change'];

/** Whether that client may write that kind. */
export function isKnown(kind: string): boolean {
  return !NEW_SINCE.includes(kind) && isKnownNow(kind);
}
