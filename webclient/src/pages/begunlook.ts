/** A half-filled look, kept on this device until it is saved or begun anew: it outlives a reload and a killed browser. */
import type { Json, Store } from '../store';
import { EMPTY, type Draft } from './lookdraft';

const NAME = 'begun_look';
const MINUTE_MS = 60_000;
/** Older than this, it is another evening's or another moment's, and only offered. */
const STALE_MS = 180 * MINUTE_MS;
/** Older than this, *now* is no longer when he was looked at. */
const MOVED_ON_MS = 15 * MINUTE_MS;

export interface BegunLook {
  readonly draft: Draft;
  /** When it was last touched. */
  readonly at: Date;
}

/** Whether anything has been said that would be lost. */
export function isBegun({ seen, light, when, temperature, note, noteLater }: Draft): boolean {
  const isSaid = Object.keys(seen).length > 0 || note.trim() !== '' || temperature !== null;
  return isSaid || noteLater || light !== null || when !== 'now';
}

/** Whether it may only be offered: it is too old, or the person has come to look at another male. */
export function isOnlyOffered({ draft, at }: BegunLook, about: string | null, now: Date): boolean {
  const isAnothers = about !== null && draft.about !== null && draft.about !== about;
  return isAnothers || now.getTime() - at.getTime() > STALE_MS;
}

/** The look as it goes on: a *now* that has passed stays the time at which it was filled in. */
export function goneOnWith({ draft, at }: BegunLook, now: Date): Draft {
  const hasPassed = draft.when === 'now' && now.getTime() - at.getTime() > MOVED_ON_MS;
  return hasPassed ? { ...draft, when: 'other', other: at } : draft;
}

/** Keep it as it stands; where nothing has been said there is nothing to keep. */
export async function keepBegun(store: Store, draft: Draft, now: Date): Promise<void> {
  if (!isBegun(draft)) return dropBegun(store);
  const other = draft.other && draft.other.toISOString();
  await store.jot(NAME, { ...draft, other, touched_at: now.toISOString() } as unknown as Json);
}

/** It was saved, or the person begins anew. */
export async function dropBegun(store: Store): Promise<void> {
  await store.jot(NAME, null);
}

/** The look that was begun here, if there is one. */
export async function begunLook(store: Store): Promise<BegunLook | null> {
  const kept = await store.setting<Record<string, string>>(NAME);
  if (!kept?.['touched_at']) return null;
  const { touched_at, other, ...said } = kept;
  return { draft: { ...EMPTY, ...said, other: other ? new Date(other) : null } as Draft, at: new Date(touched_at) };
}
