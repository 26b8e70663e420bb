/** The bytes of photos go up after the records, piece by piece, each photo going on from where the server has come to. */
import type { components } from '../records/api';
import { base64 } from '../records/base64';
import type { PhotoRow, PhotoStore } from '../store/photos';
import { refusalOf } from './api';
import type { FetchJson, Reply } from './http';
import type { Parts } from './rounds';

type Schemas = components['schemas'];
type Upload = Schemas['PhotoUpload'];
type Arrival = Schemas['PhotoArrival'];

/** How much room the server has for photos of this household, as it said last; kept under this name. */
export type Room = Schemas['PhotoRoom'];
export const ROOM = 'photo_room';

/** On a weak line a piece must still come through before the patience of one request is over. */
const PIECE_BYTES = 64 * 1024;
// Refused for ever: no picture, too large, or a body that this server does not understand.
const REFUSED = [400, 413, 422];
const [WRONG_OFFSET, NOT_THERE, NO_ROOM] = [409, 404, 507];
/** Another phone may send the same photo; that they overtake each other for ever is nobody's wish. */
const MOST_OVERTAKINGS = 20;

interface Sending {
  readonly photos: PhotoStore;
  readonly fetchJson: FetchJson;
  readonly isWanted: () => boolean;
}

/** Send what is due, until it is done, there is no room, or the records want their turn (`isWanted`). */
export async function sendPhotos({ store, fetchJson }: Parts, isWanted: () => boolean): Promise<void> {
  const photos = await store.photos();
  const sending = { photos, fetchJson, isWanted };
  for (const row of await photos.due()) {
    if (isWanted()) return;
    const upload = await ask(sending, row);
    if (upload === null) return;
    await store.jot(ROOM, upload.room);
    if (!(await send(sending, row, upload))) return;
  }
}

function addressOf({ sha256 }: PhotoRow): string {
  return `/api/v1/photos/${sha256}/upload`;
}

/** How far the server is with it; null where the server is too old to know of photos. */
async function ask({ fetchJson }: Sending, row: PhotoRow): Promise<Upload | null> {
  const { status, body } = await fetchJson(addressOf(row));
  if (status === NOT_THERE) return null;
  if (status !== 200) throw refusalOf(status, body);
  return body as Upload;
}

/** Send one photo; tells whether the next may have its turn. */
async function send(sending: Sending, row: PhotoRow, upload: Upload): Promise<boolean> {
  const data = upload.kept ? undefined : await sending.photos.picture(row.sha256, 'full');
  // It has it; or it lost it in a restore, and this phone has not kept it so long either.
  if (data === undefined) return keep(sending, row);
  let had = upload.had;
  for (let overtaken = 0; overtaken < MOST_OVERTAKINGS; ) {
    if (sending.isWanted()) return false;
    const piece = data.slice(had, had + Math.min(PIECE_BYTES, upload.piece_limit_bytes));
    const reply = await sending.fetchJson(addressOf(row), { method: 'POST', body: { bytes: data.byteLength, offset: had, piece: base64(new Uint8Array(piece)) } });
    if (reply.status === WRONG_OFFSET) {
      overtaken += 1;
      had = rightOffset(reply);
      continue;
    }
    if (reply.status !== 200) return put(sending, row, reply);
    const arrival = reply.body as Arrival;
    if (arrival.kept) return keep(sending, row);
    had = arrival.had;
    await sending.photos.note(row.sha256, { had });
  }
  return true;
}

async function keep({ photos }: Sending, { sha256 }: PhotoRow): Promise<boolean> {
  await photos.kept(sha256);
  return true;
}

function rightOffset({ status, body }: Reply): number {
  const [offset] = refusalOf(status, body).where?.['offset'] ?? [];
  return Number(offset ?? 0);
}

/** Put aside what the server does not take: for ever, or until there is room. */
async function put({ photos }: Sending, { sha256 }: PhotoRow, { status, body }: Reply): Promise<boolean> {
  const refusal = refusalOf(status, body);
  if (REFUSED.includes(status)) {
    await photos.note(sha256, { state: 'refused', had: 0, reason: refusal.message });
    return true;
  }
  if (status !== NO_ROOM) throw refusal;
  await photos.note(sha256, { reason: refusal.message });
  return false;
}
