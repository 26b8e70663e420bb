/** What can go wrong in the store, by name; the words for people are in the catalogue. */

/**
 * `quota`: no room left. `lost`: the database went away and did not come back. `newer`: a newer client has upgraded it.
 * `nobody`: nobody has ever signed in here. `other_household`: this phone holds another household's records.
 * `unknown`: there is no such record, or this client does not know its kind and must not write it.
 */
export type TroubleName = 'quota' | 'lost' | 'newer' | 'nobody' | 'other_household' | 'unknown';

export class StoreTrouble extends Error {
  constructor(
    override readonly name: TroubleName,
    cause?: unknown,
  ) {
    super(`store trouble: ${name}`, { cause });
  }
}

/** The error's trouble where it is one that people are told of by name, else the error itself. */
export function named(error: unknown): unknown {
  if (nameOf(error) === 'QuotaExceededError') return new StoreTrouble('quota', error);
  if (nameOf(error) === 'VersionError') return new StoreTrouble('newer', error);
  return error;
}

// WebKit says UnknownError ("Connection to Indexed Database server lost"), a connection that was closed under us
// InvalidStateError, a transaction that the browser gave up AbortError.
const LOST = ['UnknownError', 'InvalidStateError', 'AbortError'];

/** Whether the connection to the database is gone, so that a new one may help. */
export function isLost(error: unknown): boolean {
  return LOST.includes(nameOf(error));
}

function nameOf(error: unknown): string {
  return error instanceof Error || error instanceof DOMException ? error.name : '';
}
