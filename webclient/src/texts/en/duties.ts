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
  saidSkipped: 'left out',
};
