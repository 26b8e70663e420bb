/** This phone's push subscription: asked for in a tap, compared and sent again at every start. */

import { Offline, Refused } from './sync';

/** The calls of the server's that push needs. */
export interface PushDoor {
  me(): Promise<{ push_key: string }>;
  subscribePush(subscription: PushSubscriptionJSON): Promise<void>;
  unsubscribePush(endpoint: string): Promise<void>;
}

/** `impossible`: no worker or no push here, as on plain http; `denied`: the person or the system said no. */
export type PushState = 'on' | 'off' | 'denied' | 'impossible';

/** Whether reminders reach this phone. */
export async function pushState(): Promise<PushState> {
  if (!('serviceWorker' in navigator) || !('PushManager' in globalThis)) return 'impossible';
  if (Notification.permission === 'denied') return 'denied';
  return (await subscription()) === null ? 'off' : 'on';
}

/** Turn reminders on; to be called in a tap, which is when the permission may be asked for. */
export async function turnPushOn(door: PushDoor): Promise<PushState> {
  if ((await pushState()) === 'impossible') return 'impossible';
  if ((await Notification.requestPermission()) !== 'granted') return 'denied';
  await subscribe(door);
  return 'on';
}

/** Turn reminders off on this phone. */
export async function turnPushOff(door: PushDoor): Promise<PushState> {
  const held = await subscription();
  if (held !== null) {
    await door.unsubscribePush(held.endpoint);
    await held.unsubscribe();
  }
  return pushState();
}

/** At a start: browsers renew subscriptions without a word, so what stands is sent again. */
export async function renewPush(door: PushDoor): Promise<void> {
  try {
    if ((await pushState()) === 'on') await subscribe(door);
  } catch (error) {
    // Out of reach or signed out: the next start sends it.
    if (!(error instanceof Offline || error instanceof Refused)) throw error;
  }
}

async function subscribe(door: PushDoor): Promise<void> {
  const key = keyBytes((await door.me()).push_key);
  const registration = await navigator.serviceWorker.ready;
  const held = await registration.pushManager.getSubscription();
  const isOurs = held !== null && sameBytes(held.options.applicationServerKey, key);
  // A subscription to an older key of the server's can be used no more.
  if (held !== null && !isOurs) await held.unsubscribe();
  const options = { userVisibleOnly: true, applicationServerKey: key };
  const fresh = isOurs ? held : await registration.pushManager.subscribe(options);
  await door.subscribePush(fresh.toJSON());
}

async function subscription(): Promise<PushSubscription | null> {
  const registration = await navigator.serviceWorker.getRegistration();
  return (await registration?.pushManager.getSubscription()) ?? null;
}

/** Bytes of a base64url text (RFC 4648, section 5). */
function keyBytes(text: string): Uint8Array<ArrayBuffer> {
  const plain = atob(text.replaceAll('-', '+').replaceAll('_', '/'));
  return Uint8Array.from(plain, (letter) => letter.charCodeAt(0));
}

function sameBytes(held: ArrayBuffer | null, key: Uint8Array): boolean {
  const bytes = new Uint8Array(held ?? new ArrayBuffer(0));
  return bytes.length === key.length && bytes.every((byte, i) => byte === key[i]);
}
