/** The story of one brood as its page shows it: steps with their spread, looks on the same line of time, gaps. */
import type { Rec, Store } from '../store';
import { later } from '../texts/later';
import { STATES, type State } from '../domain/forecast';
import { dateIn } from '../domain/nights';
import { IN_THE_MOUTH, type Way } from '../domain/ways';
import { dayName } from '../ui/dates';
import type { Self } from './correcting';
import type { NightRow, People, Quantiles } from './derived';
import { looseFry } from './evening';
import { atOf, endingOf, holdingOf, textOf, type Holding } from './holding';
import { holdsOf, unsettledOf, type Hold } from './whose';

const DAY_MS = 86_400_000;
const GAP_FROM_MS = 3.5 * DAY_MS;
const LONGEST_STORY_MS = 48 * DAY_MS;
/** As many nights as fit side by side on a phone. */
export const NIGHTS_SHOWN = 14;
const NIGHTS_PAST = 3;
/** As long as the server lets the duty stand after the young were seen. */
const LOOSE_OF_USE_MS = 12 * 3_600_000;

export const STEPS = ['spawned', 'silver', 'hatched', 'released', 'released_last'] as const;
export type StepName = (typeof STEPS)[number];
/** Where hatching is the release, these are no steps of their own. */
const AFTER_HATCHING: readonly StepName[] = ['released', 'released_last'];
const NEVER_AFTER_DARK: readonly State[] = ['held_young', 'releasing'];
export const LANES = ['mouth', 'clutch', 'eggs', 'tails', 'food', 'loose_fry'] as const;
export type Lane = (typeof LANES)[number];

export interface Step {
  readonly name: StepName;
  readonly label: string;
  /** Instants of the 5, 25, 50, 75 and 95 % quantiles. */
  readonly at: readonly [Date, Date, Date, Date, Date];
  /** The middle half as the forecast before this one had it. */
  readonly before: readonly [Date, Date] | null;
}
export interface Sight {
  readonly id: string;
  readonly at: Date;
  readonly value: string;
  readonly recalled: boolean;
}
export interface Gap {
  readonly from: Date;
  readonly to: Date;
  readonly days: number;
}
export interface Story {
  readonly holding: Holding;
  readonly people: People | undefined;
  readonly self: Self;
  /** Every hold of the household, for saying whose a look was. */
  readonly holds: readonly Hold[];
  /** Looks at one of the males of his tank, nobody has said which. */
  readonly unsettled: readonly Rec[];
}

/** Read a brood's whole story; nothing where this phone does not know it. */
export async function storyOf(store: Store, id: string): Promise<Story | null> {
  const brood = await store.get(id);
  if (!brood || brood.kind !== 'brood') return null;
  const [holding, people, self, holds] = await Promise.all([holdingOf(store, brood), store.derived<People>('people', null), store.self(), holdsOf(store)]);
  const unsettled = await unsettledOf(store, { brood, fish: holding.fish, tank: holding.tank });
  return { holding, people, self: { person: self?.person ?? '', role: self?.role ?? 'helper', isShared: self?.isShared === true }, holds, unsettled };
}

/** Loose young that want somebody at once. A brood that is over sounds the alarm as long as its duty is of use: young
 * are found on the evening on which he was said to have let them go. */
export function alarmOf(holding: Holding, now: Date): { at: Date; duty: string | null } | null {
  const [loose, how] = [looseFry(holding), endingOf(holding)];
  if (!loose || how === 'mistake') return null;
  return how === null || now.getTime() < loose.at.getTime() + LOOSE_OF_USE_MS ? loose : null;
}

/** The nights worth a row: a fortnight, and on to a few past the one to catch. */
export function nightsInTable(nights: readonly NightRow[], chosen: string | null): NightRow[] {
  return nights.slice(0, Math.max(NIGHTS_SHOWN, nights.findIndex((row) => row.night === chosen) + 1 + NIGHTS_PAST));
}

/** The states that a brood of that way can be in. */
export function statesOf(way: Way): State[] {
  return STATES.filter((state) => way === IN_THE_MOUTH || !NEVER_AFTER_DARK.includes(state));
}

/** A chance as a bare number of hundred that claims neither 0 nor 100. */
export function shareWords(chance: number): string {
  const whole = Math.round(chance * 100);
  return whole < 1 ? '<1' : whole > 99 ? '>99' : String(whole);
}

function five(quantiles: Quantiles): Step['at'] {
  const at = (name: keyof Quantiles): Date => new Date(quantiles[name]);
  return [at('q05'), at('q25'), at('q50'), at('q75'), at('q95')];
}

/** The steps of a brood with their spread. */
export function stepsOf(holding: Holding): Step[] {
  const forecast = holding.forecast;
  if (!forecast || forecast.error) return [];
  const before = forecast.previous?.hatched;
  const steps = holding.way === IN_THE_MOUTH ? STEPS : STEPS.filter((name) => !AFTER_HATCHING.includes(name));
  return steps.map((name) => ({
    name, label: later.brood.story.names[name], at: five(forecast[name]),
    before: name === 'hatched' && before ? [new Date(before.q25), new Date(before.q75)] : null,
  }));
}

/** A step in one sentence, the same as its row shows. */
export function stepWords(step: Step, zone: string): string {
  const day = (at: Date): string => dayName(dateIn(zone, at));
  return later.brood.story.text(step.label, day(step.at[2]), day(step.at[0]), day(step.at[4]));
}

/** What was seen of one part, by time. */
export function sights(looks: readonly Rec[], lane: Lane): Sight[] {
  return looks.flatMap((look) => {
    const value = textOf(look, lane);
    return value ? [{ id: look.id, at: atOf(look), value, recalled: look.fields['recalled'] === true }] : [];
  });
}

/** From when to when the line of time runs. */
export function storySpan(steps: readonly Step[], looks: readonly Rec[], now: Date): [Date, Date] {
  const instants = [now, ...steps.flatMap((step) => [step.at[0], step.at[4]]), ...looks.map(atOf)].map((at) => at.getTime());
  const first = Math.min(...instants) - DAY_MS;
  return [new Date(first), new Date(Math.min(Math.max(...instants) + DAY_MS, first + LONGEST_STORY_MS))];
}

function isFull(look: Rec): boolean {
  return look.fields['mouth'] === 'full';
}

/** Runs of days without a look between two looks that found him full; each is filled by one recalled look. */
export function gapsOf(looks: readonly Rec[]): Gap[] {
  return looks.slice(1).flatMap((look, i) => {
    const before = looks[i] as Rec;
    const [from, to] = [atOf(before), atOf(look)];
    const long = to.getTime() - from.getTime() >= GAP_FROM_MS;
    const open = before.fields['recalled'] !== true && look.fields['recalled'] !== true;
    return long && open && isFull(before) && isFull(look) ? [{ from, to, days: Math.round((to.getTime() - from.getTime()) / DAY_MS) - 1 }] : [];
  });
}

/** The recalled look that fills a gap: at its middle, as far off as half of it. */
export function recalledLook(brood: string, gap: Gap): Record<string, string | number | boolean> {
  const half = (gap.to.getTime() - gap.from.getTime()) / 2;
  return { about: brood, at: new Date(gap.from.getTime() + half).toISOString(), at_error_min: Math.round(half / 60_000), light: 'daylight', mouth: 'full', recalled: true };
}
