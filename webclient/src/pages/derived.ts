/** The shapes of what the server derives and sends down, as far as the pages show them. */
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
  readonly changed: { readonly from_night: string | null; readonly to_night: string | null; readonly because: string | null } | null;
  readonly last_ate: string | null;
  readonly looks_used: number;
  readonly error: string | null;
}

export type DutyKind = 'look_tonight' | 'window_opens' | 'catch_tonight' | 'fry_loose' | 'may_be_lost';
export interface Duty {
  readonly key: string;
  readonly kind: DutyKind;
  readonly brood: string;
  readonly night: string | null;
  readonly due_at: string;
  readonly until_at: string | null;
  readonly taken_by: string | null;
  readonly done_at: string | null;
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
