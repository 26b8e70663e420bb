/** The lamp times of a tank's record, and when the skin changes by them. */
import type { Rec } from '../store';
import type { SkinName, SkinStep } from '../ui/skin';
import { hereZone } from '../ui/dates';
import { areLampsLit, isKnownZone, nextLampChange, type Lamps } from '../domain/nights';
import { textOf } from './holding';

const STEPS_AHEAD = 28;

/** The lamp times of a tank; a tank that has none yet is taken as lit from 9 to 21, in the zone of this device where it knows no other. */
export function lampsOf(tank: Rec | undefined): Lamps {
  const zone = textOf(tank, 'zone');
  return { zone: zone !== null && isKnownZone(zone) ? zone : hereZone(), out: textOf(tank, 'lamps_out') ?? '21:00', on: textOf(tank, 'lamps_on') ?? '09:00' };
}

function changesAhead(lamps: Lamps, now: Date): Date[] {
  const changes: Date[] = [];
  for (let at = now; changes.length < STEPS_AHEAD; changes.push(at)) at = nextLampChange(lamps, at);
  return changes;
}

/** When the skin changes by the lamps: night as soon as one of the tanks is dark. */
export function skinSteps(all: readonly Lamps[], now: Date): SkinStep[] {
  const skinAt = (at: Date): SkinName => (all.some((lamps) => !areLampsLit(lamps, at)) ? 'night' : 'day');
  const instants = [now, ...all.flatMap((lamps) => changesAhead(lamps, now))].sort((a, b) => a.getTime() - b.getTime());
  return instants.map((at) => [at.getTime(), skinAt(at)] as const).filter(([, skin], i, steps) => i === 0 || steps[i - 1]?.[1] !== skin);
}
