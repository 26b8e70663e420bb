/** What a client of the first version knew: nothing of photos either. */
import { isKnown as isKnownThen } from './kinds-previous';

export * from './kinds-previous';

export const SCHEMA_NUMBER = 1;

/** Whether that client may write that kind. */
export function isKnown(kind: string): boolean {
  return kind !== 'photo' && isKnownThen(kind);
}
