/** One timetable for males due close together: one evening of wet hands instead of two, where it costs hardly anything. Pure. */

interface Night {
  readonly night: string;
  readonly at: string;
  readonly saved: number;
}
/** A male with the nights still to come and the one named for him. */
export interface Due {
  readonly brood: string;
  readonly ownNight: string;
  readonly nights: readonly Night[];
}
/** Two males caught on one night. */
export interface OneNight {
  readonly night: string;
  /** What it costs in all: over both, the best share saved less that of this night. */
  readonly cost: number;
  readonly males: readonly { readonly brood: string; readonly at: string; readonly ownNight: string }[];
}

/** Combining is proposed where it costs less than this (an assumption of the design). */
export const WORTH_COMBINING_UNDER = 0.03;

function best(due: Due): number {
  return Math.max(...due.nights.map((row) => row.saved));
}

/** The night on which catching both costs least; nothing where they share none. */
function cheapest(one: Due, other: Due): OneNight | null {
  const shared = one.nights.flatMap((mine) => {
    const his = other.nights.find((row) => row.night === mine.night);
    if (!his) return [];
    const males = [{ brood: one.brood, at: mine.at, ownNight: one.ownNight }, { brood: other.brood, at: his.at, ownNight: other.ownNight }];
    return [{ night: mine.night, cost: best(one) - mine.saved + best(other) - his.saved, males: males.sort((a, b) => Date.parse(a.at) - Date.parse(b.at)) }];
  });
  return shared.sort((a, b) => a.cost - b.cost)[0] ?? null;
}

/** The pairs of males worth catching on one night, the cheapest first; each male is in one of them at most. */
export function oneTimetable(dues: readonly Due[]): OneNight[] {
  const pairs = dues.flatMap((one, i) => dues.slice(i + 1).map((other) => cheapest(one, other)));
  const worth = pairs.filter((pair) => pair !== null).filter((pair) => pair.cost < WORTH_COMBINING_UNDER).sort((a, b) => a.cost - b.cost);
  const taken = new Set<string>();
  return worth.filter(({ males }) => {
    if (males.some(({ brood }) => taken.has(brood))) return false;
    males.forEach(({ brood }) => taken.add(brood));
    return true;
  });
}
