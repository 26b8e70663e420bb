/**
 * What each choice saves when the household is away: reckoned on the phone from the nights and plans that came down.
 *
 * What is caught on a night counts as in the plan of netting him: less by the share that failed tries cost. What doing
 * nothing saves stands in the table itself, in a last night by which all have been let go; before that it is not known.
 */
import type { Chances } from './forecast';

interface Night {
  readonly night: string;
  readonly at: string;
  readonly saved: number;
}
interface Plan extends Night {
  readonly way: string;
}
export interface Known {
  /** The nights still to come. */
  readonly nights: readonly (Night & Chances)[];
  readonly catch: Night | null;
  readonly plans: readonly Plan[];
}
/** From one night to another, both of them away. */
export interface Away {
  readonly from: string;
  readonly to: string;
}
export type AwayWay = 'catch' | 'ahead' | 'hand_over' | 'accept';
export interface AwayChoice {
  readonly way: AwayWay;
  readonly night: string | null;
  readonly at: string | null;
  /** The share saved; nothing where it is not known. */
  readonly saved: number | null;
  /** The evening for it lies in the days away. */
  readonly isWithin: boolean;
}

const STILL_HOLDS_UNDER = 0.1;

export function isAway(night: string, away: Away): boolean {
  return night >= away.from && night <= away.to;
}

function bestOutside(known: Known, away: Away, kept: number): AwayChoice | null {
  const open = known.nights.filter((row) => !isAway(row.night, away));
  const [first] = [...open].sort((a, b) => b.saved - a.saved);
  return first ? { way: 'catch', night: first.night, at: first.at, saved: first.saved * kept, isWithin: false } : null;
}

function doNothing({ nights }: Known): AwayChoice {
  const last = nights.at(-1);
  const holds = last ? last.eggs + last.eyed + last.held_young + last.releasing : 1;
  return { way: 'accept', night: null, at: null, saved: last && holds < STILL_HOLDS_UNDER ? last.saved : null, isWithin: false };
}

/** The choices there are, what saves most first, those not known last; none where the night to catch is not touched. */
export function awayChoices(known: Known, away: Away): AwayChoice[] {
  const best = known.catch;
  if (!best || !isAway(best.night, away)) return [];
  const [net, ahead] = ['net', 'ahead'].map((way) => known.plans.find((plan) => plan.way === way));
  const kept = net && best.saved > 0 ? net.saved / best.saved : 1;
  const outside = bestOutside(known, away, kept);
  const choices: AwayChoice[] = [
    ...(outside ? [outside] : []),
    ...(ahead ? [{ way: 'ahead' as const, night: ahead.night, at: ahead.at, saved: ahead.saved, isWithin: isAway(ahead.night, away) }] : []),
    { way: 'hand_over', night: best.night, at: best.at, saved: net?.saved ?? best.saved, isWithin: true },
    doNothing(known),
  ];
  return choices.sort((a, b) => (b.saved ?? -1) - (a.saved ?? -1));
}
