/** Parts of the client that come when they are asked for. */

/** A part could not be fetched: this device never had it and there is no connection, or a newer client took its place. */
export class NotHere extends Error {
  override readonly name = 'not_here';
}

/** The part that is on its way, or `NotHere`. */
export async function late<T>(part: Promise<T>): Promise<T> {
  try {
    return await part;
  } catch (cause) {
    throw new NotHere('a part of the client did not come', { cause });
  }
}

/** Load the page anew where the server is there, so that it has what this client lacks; without it, nothing would come. */
export async function reloadIfServed(): Promise<void> {
  const isServed = await fetch('/api/v1/health').then((answer) => answer.ok, () => false);
  if (isServed) location.reload();
}
