/** Human words for the numbers of the species' profiles that have a range, by their dotted names. */
import { AT_HATCHING, IN_THE_MOUTH, NEST, type Way } from '../../domain/ways';

/** How a value is said: of a hundred, in days, as a factor of warmth, as a spread of thermometers or of lengths. */
export type Measure = 'share' | 'days' | 'hours' | 'per_day' | 'per_ten_degrees' | 'degrees' | 'spread';
export interface NumberWords {
  readonly what: string;
  readonly measure: Measure;
}

const share = (what: string): NumberWords => ({ what, measure: 'share' });
const days = (what: string): NumberWords => ({ what, measure: 'days' });
const spread = (what: string): NumberWords => ({ what, measure: 'spread' });

export const numbers: Readonly<Record<string, NumberWords>> = {
  'development.q10': { what: 'How much faster all goes in warmer water', measure: 'per_ten_degrees' },
  'development.hatch_spread_books': spread('How far the books may be off on the time to hatching'),
  'development.hatch_spread_male': spread('How much males differ in the time to hatching'),
  'development.hatch_spread_brood': spread('How much broods of one male differ in the time to hatching'),
  'development.silver_share': share('How much of the time to hatching has passed when the eggs turn silver'),
  'development.thermometer_spread_c': { what: 'How far the thermometer may be off', measure: 'degrees' },
  'development.thermometer_spread_unread_c': { what: 'How far the water may be from what was set, where it was seldom read', measure: 'degrees' },
  'mouth.spread_male': spread('How much males differ in the days they keep the young'),
  'mouth.spread_brood': spread('How much broods of one male differ in the days he keeps the young'),
  'mouth.release_days': days('How long it takes from the first young let go to the last'),
  'mouth.kinds.0.share': share('How many households have males that keep the young for a few days'),
  'mouth.kinds.1.share': share('How many households have males that keep the young for well over a week'),
  'hatching.saved_in_the_dark': share('How many are saved of those that hatch on the night itself'),
  'spawning.courtship_chance': share('How often a spawning follows a courtship that was seen'),
  'spawning.courtship_hours': { what: 'How soon after a courtship he takes up the eggs', measure: 'hours' },
  'loss.early_chance_first': share('How often a first brood is lost in the first days'),
  'loss.early_mean_days': days('How soon an early loss comes'),
  'loss.hazard_per_day': { what: 'How often a brood is lost later on', measure: 'per_day' },
  'seen.eggs.turning_from': share('How much of the time to silver has passed when the eggs begin to turn'),
  'seen.eggs.missed': share('How often no eggs are seen though he holds'),
  'seen.eggs.imagined': share('How often a colour is seen though he holds nothing'),
  'seen.tails.shown_by': share('How many males ever let tails be seen'),
  'seen.tails.most': share('How often tails are seen at best'),
  'seen.tails.rate_per_day': { what: 'How fast tails come to be seen after hatching', measure: 'per_day' },
  'seen.tails.head_start_days': days('How long before hatching tails begin to show'),
  'seen.tails.sure_share': share('How many of the tails that show are seen for sure'),
  'seen.tails.perhaps_unshown': share('How often “perhaps tails” is said though none show'),
  'worth.eggs': share('How many are saved of orange eggs'),
  'worth.free_among_others': share('How many are saved of young let go among other fish'),
  'worth.free_alone': share('How many are saved of young let go where he sits alone'),
  'held.young': share('How many are saved of young caught just after hatching'),
  'held.young_gain': share('How many more are saved of young that have stayed longer'),
  'held.young_gain_days': days('How long young must have stayed for that'),
  'held.eyed': share('How many are saved of silver eggs'),
};

const atHatching: typeof numbers = {
  ...numbers,
  'worth.eggs': share('How many are saved of those that have not hatched by that night'),
  'worth.free_among_others': share('How many are saved of larvae that hatched unseen among other fish'),
  'worth.free_alone': share('How many are saved of larvae that hatched unseen where no other fish are'),
};

const nest: typeof numbers = {
  ...atHatching,
  'spawning.courtship_hours': { what: 'How soon after a courtship the clutch is laid', measure: 'hours' },
  'seen.eggs.missed': share('How often no eggs are seen though the clutch is there'),
  'seen.eggs.imagined': share('How often a colour is seen though the clutch is gone'),
};

/** The same for each way in which the young leave their father. */
export const numbersOf: Readonly<Record<Way, typeof numbers>> = { [IN_THE_MOUTH]: numbers, [AT_HATCHING]: atHatching, [NEST]: nest };
