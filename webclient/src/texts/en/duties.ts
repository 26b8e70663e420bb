import type { DutyHow } from './tonight';

/** Names in the genitive, one after the other: Jonas’s and Tove’s. */
const whose = (names: readonly string[]): string => names.map((name) => `${name}’s`).join(' and ');

/** What a person does with a duty, and how the duties of an evening are parted: loaded with the list of them. */
export const duties = {
  groups: { mine: 'Yours', everybodys: 'Everybody’s', others: 'Taken by others', over: 'Done' },
  turn: (names: readonly string[]) => `${whose(names)} turn`,
  myTurn: (others: readonly string[]) => (others.length === 0 ? 'Your turn' : `Your turn, and ${whose(others)}`),
  later: 'Later',
  laterLong: 'Later, in half an hour',
  again: 'Say it again in',
  delays: [[30, '½ h', 'half an hour'], [60, '1 h', 'one hour'], [120, '2 h', 'two hours']] as readonly (readonly [number, string, string])[],
  saidLater: (time: string) => `again at ${time}`,
  ask: (names: readonly string[]) => `In doubt, ask ${names.join(' or ')}.`,
  print: 'Print as a card for the door',
  skip: 'Skip',
  why: 'It need not be done, because',
  reasons: ['Not needed any more', 'Seen to already', 'Nobody is at home', 'Better not to disturb'],
  other: 'Another reason',
  saidTaken: 'yours', saidDone: 'done', saidBack: 'handed back', saidSkipped: 'left out',
  giveBack: 'Hand back',
  more: (n: number, undone: number) => (undone > 0 ? `${undone} more to do` : `${n} more, done`),
  /** How much, in the house's own measure first: 1.5 × level blue spoon (0.9 g). */
  measured: (times: string | null, measure: string) => (times === null ? measure : `${times} × ${measure}`),
  withQuantity: (measured: string, quantity: string) => `${measured} (${quantity})`,
  grams: (n: string) => `${n} g`,
  /** How a duty is done and what not to do, of the first way and of every way; what differs stands with its own way. */
  how: {
    look_tonight: { text: 'A minute in red light, from a step away.', not: 'No torch, no tapping on the glass, no food to test him.' },
    look_by_day: { text: 'A minute by day light, from a step away: the colour of the eggs tells most.', not: 'No torch, no food to test him.' },
    window_opens: { text: 'His window opens: fill it with water from the same tank.', not: 'No water from another tank.' },
    first_food: { text: 'Brine shrimp, or rotifers or copepods where they hatch small: the young must find live food when they first eat. Those that still have yolk leave it.', not: 'No bare hand and no breath over dry cysts: their dust can bring on an allergy.' },
    catch_tonight: { text: 'Dark room, nursery ready, somebody for the lamp. Unplug before hands go in.', not: 'No white light, no chasing him round the rocks.' },
    fry_loose: { text: 'Pumps off or intakes guarded, dim light, scoop with a cup.', not: 'No net. Leave him be meanwhile.' },
    may_be_lost: { text: 'One look in white light settles it.', not: 'No torch into the mouth.' },
    too_warm: { text: 'Look at heater, lamps and pumps; let it cool slowly.', not: 'No ice in the tank.' },
    too_cold: { text: 'Look at the heater; let it warm slowly.', not: 'No hot water into the tank.' },
  } as Readonly<Record<string, DutyHow>>,
};
