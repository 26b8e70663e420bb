/** The shapes that the parts are told to show. */
import type { Amount, DutyTold } from '../domain/duties';
import type { Chances } from '../domain/forecast';
import type { Nightly } from '../domain/turns';
import type { Way } from '../domain/ways';
import type { Words } from '../texts/ways';

/** The night to catch as it is shown. */
export interface CatchView {
  readonly night: string;
  /** Tonight, Tomorrow night, Thu 26 Nov. */
  readonly headline: string;
  readonly time: string;
  /** Whose hour that is, where this device's clock shows another. */
  readonly place: string | null;
  readonly why: string;
  readonly saves: string;
  readonly isTonight: boolean;
  /** Tonight's hour has come. */
  readonly isNow: boolean;
  /** The night is over and no newer forecast has come. */
  readonly isPast: boolean;
}

/** A holding male as his card shows him. */
export interface CardView {
  readonly brood: string;
  readonly way: Way;
  /** The words for a male of his way. */
  readonly words: Words;
  readonly name: string;
  readonly where: string;
  /** Whose hours the card tells, in words, where it needs saying. */
  readonly hours: string | null;
  readonly zone: string;
  readonly tonight: string;
  readonly lit: boolean;
  readonly day: number | null;
  /** How many days the day of the hold may be off. */
  readonly offDays: number;
  /** Whether he fasts while he holds: one that guards a nest does not. */
  readonly fasts: boolean;
  readonly fastDays: number | null;
  /** His nest must lie in full darkness now. */
  readonly dark: boolean;
  readonly chances: Chances | null;
  readonly sentence: string | null;
  readonly aside: string | null;
  readonly windows: readonly { label: string; span: string }[];
  readonly catch: CatchView | null;
  readonly nothingToSave: boolean;
  readonly nights: readonly { readonly night: string; readonly saved: number }[];
  readonly moved: string | null;
  readonly rough: boolean;
  readonly lastLook: string;
  readonly forecastNote: string | null;
  readonly age: string | null;
  readonly behind: number;
  /** What the newest look that is not in the forecast yet would mean, in words. */
  readonly verdict: string | null;
  /** The look that the forecast asks for next, in words. */
  readonly nextLook: string | null;
  readonly conflict: string | null;
  readonly mayBeLost: boolean;
}

/** A duty as its row shows it. */
export interface DutyView {
  readonly key: string;
  /** The duty itself, as it came down. */
  readonly told: DutyTold & Nightly & { readonly amount?: Amount | null };
  readonly brood: string;
  readonly title: string;
  /** How it is done. */
  readonly text: string;
  /** What not to do. */
  readonly not: string;
  /** How much, in words; like the next one it is said once the row stands. */
  readonly amount?: string | null;
  /** Whom to ask in doubt, where that has been read. */
  readonly ask?: string | null;
  readonly male: string;
  readonly time: string;
  /** The tank's, in which hours of it are said. */
  readonly zone: string;
  /** Who has it in hand, in words; while it is free, whose turn it is, if it is anybody's. */
  readonly holder: string | null;
  readonly isMine: boolean;
  readonly isFree: boolean;
  /** How it ended, in words. */
  readonly done: string | null;
  /** That who looks has put it off, in words. */
  readonly later: string | null;
}

/** Whether this phone and the household agree, in words. */
export interface SyncView {
  readonly short: string;
  readonly text: string;
  readonly waiting: string;
  readonly clock: string | null;
  readonly isWell: boolean;
  readonly isSignedOut: boolean;
  /** Signed out and still of the household. */
  readonly maySignIn: boolean;
}
