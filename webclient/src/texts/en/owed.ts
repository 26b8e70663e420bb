/** What is asked for once a brood is over: loaded where one is lately over. */
import type { DutyKind } from './tonight';

/** What one is called before its day. */
export const owedAhead: Readonly<Record<string, string>> = { rest_over: 'The end of his rest' };

export const owed: Readonly<Record<string, DutyKind>> = {
  pumps_on: { title: 'Pumps back on', text: 'Pumps and flow on, lids closed, the lamp timer back to automatic.', not: 'Dry hands at plugs and sockets.' },
  part_pair: { title: 'Let him recover, apart', text: 'Part him from the female, or she may have him hold again at once. Small meals for ten days.', not: 'No chasing: a night in a dark, quiet place is worth more than a day’s hurry.' },
  eating_again: { title: 'See whether he eats again', text: 'Once he has eaten, say that it is done. If he has taken nothing for three days since his brood ended, ask a vet who knows fish.', not: 'No medicine on suspicion.' },
  condition_check: { title: 'See how his condition is', text: 'By day light: is his belly round, are his fins whole? If not, small meals go on.', not: 'No pairing yet.' },
  rest_over: { title: 'He has rested a month', text: 'If belly and fins are full he may be paired again; if not, give him longer.', not: 'Not with a sister or a daughter, nor a fish of the same delivery.' },
  pair_again: { title: 'Pair him again', text: 'If his condition is back: put them together by day light and watch them for an hour.', not: 'Part them if one is chased or bitten.' },
};
