/** The shapes of what the server derives and sends down, as far as the pages show them. */
import type { Amount, DutyTold } from '../domain/duties';
import type { Chances, GridRow } from '../domain/forecast';

export type Quantiles = Readonly<Record<'q05' | 'q10' | 'q25' | 'q50' | 'q75' | 'q90' | 'q95', string>>;
export interface NightRow extends Chances {
  readonly night: string;
  readonly at: string;
  readonly saved: number;
}
export interface NightToCatch {
  readonly night: string;
  readonly at: string;
  readonly saved: number;
}
export interface Doubt {
  readonly look: string;
  readonly part?: string;
}
/** What one evening did: how many days later it put hatching, and the night to catch without it. */
export interface Influence {
  readonly look: string;
  readonly hatched_later_days: number;
  readonly night_without: string | null;
}
/** A look still to come: on which night, when, under which light. */
export interface LookAhead {
  readonly night: string;
  readonly at: string;
  readonly light: string;
}
export interface NextLook extends LookAhead {
  readonly gain: number;
  readonly cost: number;
  readonly look_for: string;
}
/** What one finding at a coming look would mean: its chance, the six chances then, and the night to catch. */
export interface Finding extends Chances {
  readonly part: string;
  readonly value: string;
  readonly likelihood: number;
  readonly catch: NightToCatch | null;
}
export interface IfSeen extends LookAhead {
  readonly findings: readonly Finding[];
}
export interface Plan {
  readonly way: 'net' | 'ahead';
  readonly night: string;
  readonly at: string;
  readonly saved: number;
  readonly risk: number;
  readonly people: number;
}
/** What finished broods have taught, in days at the reference temperature. */
export interface Learned {
  readonly broods: number;
  readonly own_broods: number;
  readonly hatch_days: number;
  readonly mouth_days: number | null;
  readonly early_chance: number;
}
export interface Taught {
  readonly own_hatch_days: number | null;
  readonly hatch_days: number | null;
  /** Ids of the broods that taught, each with a mark of what it taught. */
  readonly broods: Readonly<Record<string, string>>;
}

/** A forecast of one brood with its grid of chances. */
export interface Forecast {
  readonly spawned: Quantiles;
  readonly silver: Quantiles;
  readonly hatched: Quantiles;
  readonly released: Quantiles;
  readonly released_last: Quantiles;
  readonly now: Chances;
  readonly nights: readonly NightRow[];
  readonly catch: NightToCatch | null;
  readonly conflict: { readonly look: string; readonly why: string } | null;
  readonly not_believed: readonly Doubt[];
  /** Parts of an evening of which people saw different things; `look` is the first look of that evening. */
  readonly disagreements: readonly { readonly look: string; readonly part: string; readonly seen: readonly string[] }[];
  /** Ids of looks and feedings of this brood that could not be used. */
  readonly left_out: readonly string[];
  readonly rough: boolean;
  readonly grid: readonly GridRow[];
  readonly issued_at: string;
  readonly zone: string;
  readonly lamps_out: string;
  readonly lamps_on: string;
  readonly previous: { readonly issued_at: string; readonly catch: NightToCatch | null; readonly hatched: Quantiles } | null;
  readonly changed: { readonly from_night: string | null; readonly to_night: string | null; /** The id of the look, feeding or mark that moved it, or of the brood that has taught something else; then the night may be the same, and hatching alone have moved. */ readonly because: string | null } | null;
  readonly last_ate: string | null;
  readonly looks_used: number;
  readonly error: string | null;
  /** How the young leave the male, as the species' profile says it. */
  readonly way: string;
  readonly company: string;
  readonly influences: readonly Influence[];
  readonly next_look: NextLook | null;
  readonly if_seen: readonly IfSeen[];
  readonly plans: readonly Plan[];
  readonly learned: Learned | null;
  readonly books: { readonly hatch_days: number; readonly reference_c: number };
  readonly taught: Taught;
}

export type DutyKind = 'look_tonight' | 'look_by_day' | 'window_opens' | 'catch_tonight' | 'move_male' | 'collect_larvae' | 'fry_loose' | 'larvae_loose' | 'may_be_lost' | 'pumps_on' | 'part_pair' | 'eating_again' | 'condition_check' | 'rest_over' | 'pair_again' | 'too_warm' | 'too_cold' | 'first_food' | NurseryDuty;
/** What is asked for of young in their nursery vessel. */
export type NurseryDuty = 'feed_fry' | 'start_food' | 'test_water' | 'change_water' | 'ammonia_high' | 'count_fry';
export interface Duty extends DutyTold {
  readonly kind: DutyKind;
  readonly brood: string;
  readonly night: string | null;
  readonly amount?: Amount | null;
}
/** What the server works out of a batch; `assumed` names what of the water was not measured and was taken as usual. */
export interface NurseryTold {
  readonly alive: number | null;
  readonly hatched_at: string | null;
  readonly first_meal_at: string | null;
  readonly free_ammonia_mg_l: number | null;
  readonly tested_at: string | null;
  readonly assumed: readonly string[];
}

export interface Person {
  readonly id: string;
  readonly name: string;
  readonly role: 'owner' | 'keeper' | 'helper';
  readonly gone: boolean;
}
export interface People {
  readonly household: { readonly id: string; readonly name: string };
  readonly people: readonly Person[];
}
