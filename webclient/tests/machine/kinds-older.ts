/** What a client of the first version knew: nothing of photos. */
import { isKnown as isKnownNow } from '../../src/records/kinds';

export * from '../../src/records/kinds';

export const SCHEMA_NUMBER = 1;

/** Whether that client may write that kind. */
export function isKnown(kind: string): boolean {
  return kind !== 'photo' && isKnownNow(kind);
}
