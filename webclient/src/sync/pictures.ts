/** Pictures come down when they are looked at. */
import type { PictureSize } from '../store/photos';
import { refusalOf } from './api';
import { isUnreachable, logging, Offline, PATIENCE_MS } from './http';

const TYPE = 'image/jpeg';

/** The bytes of a picture; null while the server does not have it, Offline where it cannot be asked. */
export async function fetchPicture(sha256: string, size: PictureSize): Promise<ArrayBuffer | null> {
  const who = await logging();
  const address = `/api/v1/photos/${sha256}${size === 'small' ? '/thumbnail' : ''}`;
  const headers: Record<string, string> = who ? { 'Holdwatch-Person': who } : {};
  try {
    const answer = await fetch(address, { headers, signal: AbortSignal.timeout(PATIENCE_MS), redirect: 'error' });
    if (answer.headers.get('Content-Type') === TYPE && answer.ok) return await answer.arrayBuffer();
    return await without(answer);
  } catch (error) {
    if (isUnreachable(error)) throw new Offline('no picture', { cause: error });
    throw error;
  }
}

async function without(answer: Response): Promise<null> {
  if (!answer.headers.get('Content-Type')?.startsWith('application/json')) throw new Offline(`an answer of status ${answer.status} that is not the server's`);
  if (answer.status === 404) return null;
  throw refusalOf(answer.status, await answer.json());
}
