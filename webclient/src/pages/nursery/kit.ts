/** How this device's test kit tells ammonia and nitrite: as nitrogen, or as the whole ion. */
import type { Store } from '../../store';

const NAME = 'kit_shows_ion';

/** Whether it tells the whole ion; as nitrogen until somebody says otherwise. */
export async function isKitOfIons(store: Store): Promise<boolean> {
  return (await store.setting<boolean>(NAME)) === true;
}

/** Say which. */
export async function sayKit(store: Store, isAsIon: boolean): Promise<void> {
  await store.keep(NAME, isAsIon);
}
