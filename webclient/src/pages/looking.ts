/** What Look has to know: who holds, in which tanks several do, the last temperatures, whether the caution was read. */
import type { Rec, Store } from '../store';
import type { Units } from '../domain/units';
import { readAhead } from './ahead';
import { holdings, numberOf, type Holding } from './holding';
import { unitsOf } from './units';

export interface Looking {
  readonly holding: readonly Holding[];
  /** Tanks in which more than one male holds: there one may be unsure which. */
  readonly crowded: readonly Rec[];
  /** The last temperature of each tank, else its set point, in °C. */
  readonly temperatures: Readonly<Record<string, number>>;
  readonly units: Units;
  readonly cautionSeen: boolean;
  /** Others log on this phone as well. */
  readonly isShared: boolean;
}

async function lastTemperature(store: Store, tank: Rec): Promise<number> {
  const readings = await store.about(tank.id, 'reading');
  return numberOf(readings.at(-1), 'temperature_c') ?? numberOf(tank, 'set_point_c') ?? 26;
}

/** Read it. */
export async function lookingOf(store: Store): Promise<Looking> {
  const holding = await holdings(await readAhead(store));
  const tanks = [...new Map(holding.flatMap((one) => (one.tank ? [[one.tank.id, one.tank] as const] : []))).values()];
  const pairs = await Promise.all(tanks.map(async (tank) => [tank.id, await lastTemperature(store, tank)] as const));
  return {
    holding,
    crowded: tanks.filter((tank) => holding.filter((one) => one.tank?.id === tank.id).length > 1),
    temperatures: Object.fromEntries(pairs),
    units: await unitsOf(store),
    cautionSeen: (await store.setting<boolean>('caution_seen')) === true,
    isShared: (await store.self())?.isShared === true,
  };
}
