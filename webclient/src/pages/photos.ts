/** Photos as pages show them: which belong to a brood, and where their pictures come from. */
import type { Fields, Rec, Store } from '../store';
import type { NewPicture, PhotoRow, PictureSize } from '../store/photos';
import { Offline, Refused } from '../sync';
import { fetchPicture } from '../sync/pictures';
import type { TakeBack } from './acts.svelte';
import { atOf, textOf } from './holding';
import { couldBe, type Hold } from './whose';
import { takeAway } from './writes';

const PROMISED = 'photos_later';
const FIRST_YEAR = 2000;

/** A photo of a brood, or of one of the males in its tank while he held, of which nobody has said whose it is. */
export interface Photo {
  readonly record: Rec;
  readonly sha256: string;
  readonly isUnsure: boolean;
}
/** A picture's bytes, or why there are none. */
export type Picture = { readonly data: ArrayBuffer; readonly isSmall: boolean } | { readonly data: null; readonly why: Why };
type Why = 'offline' | 'away' | 'signedOut';

function shownOnes(records: readonly Rec[], isUnsure: boolean): Photo[] {
  // One that was emptied by a helper who took it back names no picture.
  return records.flatMap((record) => {
    const sha256 = textOf(record, 'sha256');
    return sha256 ? [{ record, sha256, isUnsure }] : [];
  });
}

/** The photos of a brood, the newest first. */
export async function photosOf(store: Store, hold: Hold): Promise<Photo[]> {
  const [own, ofTank] = await Promise.all([store.about(hold.brood.id, 'photo'), hold.tank ? store.about(hold.tank.id, 'photo') : []]);
  const perhaps = ofTank.filter((record) => couldBe(hold, atOf(record)));
  return [...shownOnes(own, false), ...shownOnes(perhaps, true)].sort((a, b) => atOf(b.record).getTime() - atOf(a.record).getTime());
}

/** The picture of that name and size: from this phone, else from the server, and kept then. A small one stands in for a large one. */
export async function pictureOf(store: Store, sha256: string, size: PictureSize): Promise<Picture> {
  const photos = await store.photos();
  const held = (await photos.picture(sha256, size)) ?? (size === 'small' ? await photos.picture(sha256, 'full') : undefined);
  if (held) return { data: held, isSmall: size === 'small' };
  const small = size === 'full' ? await photos.picture(sha256, 'small') : undefined;
  const fetched = await asked(sha256, size);
  if (fetched instanceof ArrayBuffer) {
    await photos.remember(sha256, size, fetched);
    return { data: fetched, isSmall: size === 'small' };
  }
  return small ? { data: small, isSmall: true } : { data: null, why: fetched };
}

async function asked(sha256: string, size: PictureSize): Promise<ArrayBuffer | Why> {
  try {
    return (await fetchPicture(sha256, size)) ?? 'away';
  } catch (error) {
    if (error instanceof Refused && error.status === 401) return 'signedOut';
    // A server that is busy or at fault may give it later, as one that cannot be reached.
    if (error instanceof Offline || (error instanceof Refused && error.status >= 500)) return 'offline';
    throw error;
  }
}

/** Keep a photo of what `about` names; what was promised of it is done. */
export async function addPhoto(store: Store, about: string, at: Date, picture: NewPicture): Promise<TakeBack> {
  const fields: Fields = { about, at: at.toISOString(), at_error_min: 0 };
  const record = await (await store.photos()).add(fields, picture);
  await dropPromised(store, about);
  return () => takeAway(store, record);
}

/** When the picture in a file was taken, as far as the file's own date can be believed. */
export function fileTime(file: { readonly lastModified: number }, now: Date): Date {
  const at = new Date(file.lastModified);
  return at.getTime() <= now.getTime() && at.getUTCFullYear() >= FIRST_YEAR ? at : now;
}

/** A photo that was put off until day: of what, and since when. */
export interface Promised {
  readonly about: string;
  readonly at: string;
}

/** The photos that are still to be taken. */
export async function promised(store: Store): Promise<Promised[]> {
  return ((await store.setting<{ about: string; at: string }[]>(PROMISED)) ?? []).slice();
}

/** Promise a photo for later; one promise of one thing is enough. */
export async function promise(store: Store, about: string, now: Date): Promise<TakeBack> {
  const before = await promised(store);
  if (!before.some((one) => one.about === about)) await keepPromised(store, [...before, { about, at: now.toISOString() }]);
  return () => keepPromised(store, before);
}

/** It was taken, or is not wanted any more. */
export async function dropPromised(store: Store, about: string): Promise<TakeBack> {
  const before = await promised(store);
  const left = before.filter((one) => one.about !== about);
  if (left.length < before.length) await keepPromised(store, left);
  return () => keepPromised(store, before);
}

function keepPromised(store: Store, all: readonly Promised[]): Promise<void> {
  return store.keep(PROMISED, all.map(({ about, at }) => ({ about, at })));
}

/** Let a photo go that the household refused, with the records that name it. */
export async function leaveOut(store: Store, row: PhotoRow): Promise<void> {
  for (const id of row.records) {
    const record = await store.get(id);
    if (record && record.fields['gone'] !== true) await takeAway(store, record);
  }
  await (await store.photos()).letGo(row.sha256);
}

/** Hand a picture to the person as a file. */
export function savePicture(data: ArrayBuffer, at: Date): void {
  const url = URL.createObjectURL(new Blob([data], { type: 'image/jpeg' }));
  const link = Object.assign(document.createElement('a'), { href: url, download: `holdwatch-${at.toISOString().slice(0, 16).replace(/[:T]/g, '-')}.jpg` });
  link.click();
  URL.revokeObjectURL(url);
}
