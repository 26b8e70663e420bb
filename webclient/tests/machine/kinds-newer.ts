/** What a client of the next version knows: one kind of record more. Fields it may name as it likes. */
import { SCHEMA_NUMBER as present, isKnown as isKnownNow } from '../../src/records/kinds';

export * from '../../src/records/kinds';

export const SCHEMA_NUMBER = present + 1;

/** Whether that client may write that kind. */
export function isKnown(kind: string): boolean {
  return kind === 'pond' || isKnownNow(kind);
}
