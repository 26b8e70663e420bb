/** Small things of this device's own that never go up: what was read already, what is half filled, which units. */
import type { Json } from '../records/json';
import type { Inside } from './device';

/** What was kept under that name. */
export async function settingOf<T extends Json>(inside: Inside, name: string): Promise<T | undefined> {
  return (await inside.connection.read(['settings'], (tx) => tx.objectStore('settings').get(name))) as T | undefined;
}

/** Keep it under that name. */
export async function keepSetting(inside: Inside, name: string, value: Json): Promise<void> {
  await inside.connection.write(['settings'], 'relaxed', (tx) => tx.objectStore('settings').put(value, name));
}
