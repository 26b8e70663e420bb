/** Photos on the phone: taken with their records in one transaction, kept until the server has them; and pictures that were looked at. */
import type { Fields } from '../records/kinds';
import { agreement } from './agreement';
import type { Inside } from './device';
import type { News } from './news';
import { isUnheardOf } from './overlay';
import type { Rec } from './reading';
import type { PhotoRow, PictureRow, PictureSize, Reading, StoredRecord, Writing } from './schema';
import { StoreTrouble } from './trouble';
import { add } from './writing';

export type { PhotoRow, PictureSize } from './schema';

/** A picture as it was taken or chosen, ready to be kept. */
export interface NewPicture {
  sha256: string;
  full: ArrayBuffer;
  small: ArrayBuffer;
  width: number;
  height: number;
}

export type PhotoStore = ReturnType<typeof openPhotos>;

/** How many pictures are kept beside those that the server does not have: enough for the broods somebody looks at. */
const MOST: Readonly<Record<PictureSize, number>> = { full: 24, small: 400 };
const ALL = ['photos', 'pictures', 'records', 'meta'] as const;

/** What pages and sync may ask about photos. */
export function openPhotos(inside: Inside, news: News, told: (record: Promise<StoredRecord>) => Promise<Rec>) {
  const { connection } = inside;
  const change = async <T>(body: (tx: Writing) => Promise<T>): Promise<T> => {
    const result = await connection.write([...ALL], 'relaxed', body);
    news.tell(['photos']);
    return result;
  };
  return {
    /** Add the record of a photo with its bytes: all of it, or nothing. */
    add: (fields: Fields, picture: NewPicture): Promise<Rec> => told(addPhoto(inside, fields, picture)),
    /** A picture's bytes, if this phone has them. */
    picture: async (sha256: string, size: PictureSize): Promise<ArrayBuffer | undefined> =>
      (await connection.read(['pictures'], (tx) => tx.objectStore('pictures').get([sha256, size])))?.data,
    /** Keep a picture that came from the server, as long as there is room. */
    remember: (sha256: string, size: PictureSize, data: ArrayBuffer): Promise<void> => remember(inside, { sha256, size, data, at_ms: inside.surroundings.now() }),
    /** The photos that the server does not have, without their bytes. */
    pending: (): Promise<PhotoRow[]> => connection.read(['photos', 'records'], pending),
    /** Those of them that need attention. */
    refused: async (): Promise<PhotoRow[]> => (await connection.read(['photos', 'records'], pending)).filter((row) => row.state === 'refused'),
    /** Photos whose records the server has: to be sent, or asked after since it was restored. */
    due: (): Promise<PhotoRow[]> => connection.write([...ALL], 'relaxed', due),
    /** Note what has become of one. */
    note: (sha256: string, news: Partial<PhotoRow>): Promise<void> => change((tx) => note(tx, sha256, news)),
    /** The server has it. */
    kept: (sha256: string): Promise<void> => change((tx) => kept(tx, sha256)),
    /** Let a photo that was refused go. */
    letGo: (sha256: string): Promise<void> => change((tx) => drop(tx, sha256)),
  };
}

function addPhoto(inside: Inside, fields: Fields, { sha256, full, small, width, height }: NewPicture): Promise<StoredRecord> {
  const at_ms = inside.surroundings.now();
  const put = async (tx: Writing, record: StoredRecord) => {
    const known = await tx.objectStore('photos').get(sha256);
    const fresh: PhotoRow = { sha256, bytes: full.byteLength, records: [], state: 'waiting', had: 0 };
    // What was refused once is meant anew by whoever chooses it again.
    const row = known === undefined || known.state === 'refused' ? fresh : known;
    await tx.objectStore('photos').put({ ...row, records: [...(known?.records ?? []), record.id] });
    await tx.objectStore('pictures').put({ sha256, size: 'full', data: full, at_ms });
    await tx.objectStore('pictures').put({ sha256, size: 'small', data: small, at_ms });
  };
  return add(inside, 'photo', { ...fields, sha256, bytes: full.byteLength, width, height }, { stores: ['photos', 'pictures'], put });
}

async function remember(inside: Inside, row: PictureRow): Promise<void> {
  try {
    await inside.connection.write([...ALL], 'relaxed', async (tx) => {
      await tx.objectStore('pictures').put(row);
      await trim(tx, row.size);
    });
  } catch (error) {
    // Without room it is fetched again when it is looked at again.
    if (!(error instanceof StoreTrouble && error.name === 'quota')) throw error;
  }
}

/** Take the oldest pictures away beyond those that may stay; what the server does not have is not counted and stays. */
async function trim(tx: Writing, size: PictureSize): Promise<void> {
  const range = IDBKeyRange.bound([size], [size, []]);
  const pictures = tx.objectStore('pictures');
  const keys = await pictures.index('age').getAllKeys(range);
  if (keys.length <= MOST[size]) return;
  const rows = await tx.objectStore('photos').getAll();
  const only = new Set(rows.filter((row) => row.state !== 'kept').map((row) => row.sha256));
  const free = keys.filter(([sha256]) => !only.has(sha256));
  const old = free.slice(0, Math.max(0, free.length - MOST[size]));
  await Promise.all(old.map((key) => pictures.delete(key)));
}

interface Named {
  row: PhotoRow;
  records: StoredRecord[];
}

async function named(tx: Reading | Writing, row: PhotoRow): Promise<Named> {
  const found = await Promise.all(row.records.map((id) => tx.objectStore('records').get(id)));
  return { row, records: found.filter((record) => record !== undefined) };
}

/** Whether one of its records still names it: a helper who takes one back empties it. */
function isAlive({ row, records }: Named): boolean {
  return records.some(({ fields }) => fields['gone']?.value !== true && fields['sha256']?.value === row.sha256);
}

/** In the order in which they were taken: ids rise with time. */
function inOrder(all: readonly Named[]): PhotoRow[] {
  const firstOf = (row: PhotoRow) => row.records[0] ?? '';
  return all.map(({ row }) => row).sort((a, b) => (firstOf(a) < firstOf(b) ? -1 : 1));
}

async function pending(tx: Reading | Writing): Promise<PhotoRow[]> {
  const index = tx.objectStore('photos').index('state');
  const rows = [...(await index.getAll('refused')), ...(await index.getAll('waiting'))];
  const all = await Promise.all(rows.map((row) => named(tx, row)));
  // One that was taken away again does not go up.
  return inOrder(all.filter(isAlive));
}

async function due(tx: Writing): Promise<PhotoRow[]> {
  const { epoch } = await agreement(tx);
  const rows = (await tx.objectStore('photos').getAll()).filter((row) => row.state === 'waiting' || (row.state === 'kept' && row.epoch !== epoch));
  const all = await Promise.all(rows.map((row) => named(tx, row)));
  // Its record never left this phone and was taken back: nobody will ever ask for it.
  await Promise.all(all.filter(({ records }) => records.length === 0).map(({ row }) => drop(tx, row.sha256)));
  return inOrder(all.filter((one) => isAlive(one) && one.records.some((record) => !isUnheardOf(record))));
}

async function note(tx: Writing, sha256: string, news: Partial<PhotoRow>): Promise<void> {
  const row = await tx.objectStore('photos').get(sha256);
  if (row === undefined) return;
  const { reason: _reason, ...rest } = row;
  await tx.objectStore('photos').put({ ...rest, ...news });
}

async function kept(tx: Writing, sha256: string): Promise<void> {
  const { epoch } = await agreement(tx);
  await note(tx, sha256, { state: 'kept', had: 0, epoch });
  await trim(tx, 'full');
  await trim(tx, 'small');
}

async function drop(tx: Writing, sha256: string): Promise<void> {
  await tx.objectStore('photos').delete(sha256);
  await tx.objectStore('pictures').delete([sha256, 'full']);
}
