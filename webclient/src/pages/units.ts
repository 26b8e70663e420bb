/** The units in which this device shows and asks for measures: its own setting, of nobody else's concern. */
import { METRIC, type Units } from '../domain/units';
import type { Store } from '../store';

const NAME = 'units';

/** The units chosen here; °C and litres until somebody chooses. */
export async function unitsOf(store: Store): Promise<Units> {
  return { ...METRIC, ...(await store.setting<Partial<Record<keyof Units, string>>>(NAME)) } as Units;
}

/** Choose the unit of temperatures or of volumes. */
export async function chooseUnit(store: Store, chosen: Partial<Units>): Promise<void> {
  await store.keep(NAME, { ...(await unitsOf(store)), ...chosen });
}
