/** What is going on inside, in words that are only as sure as the chances are. */
type Sureness = 'sure' | 'likely' | 'open';

const adverb: Record<Sureness, string> = { sure: 'Almost surely', likely: 'Probably', open: 'Perhaps' };

export const states = {
  short: { eggs: 'eggs', eyed: 'silver', held_young: 'hatched', releasing: 'letting go', released: 'all out', lost: 'lost' },
  sentence: {
    eggs: (sure: Sureness, percent: string) => `${adverb[sure]} still orange eggs (${percent})`,
    eyed: (sure: Sureness, percent: string) => `${adverb[sure]} silver eggs, not hatched yet (${percent})`,
    held_young: (sure: Sureness, percent: string) => `${adverb[sure]} hatched (${percent}), still in his mouth`,
    releasing: (sure: Sureness, percent: string) => `${adverb[sure]} letting the young go (${percent})`,
    released: (sure: Sureness, percent: string) => `${adverb[sure]} all young are out (${percent})`,
    lost: (sure: Sureness, percent: string) => `${adverb[sure]} not holding any more (${percent})`,
  },
  open: (first: string, second: string) => `Hard to say: ${first} or ${second}`,
  openPart: (name: string, percent: string) => `${name} (${percent})`,
  alsoLost: (n: number) => `About 1 in ${n} that he has lost them`,
  barText: (parts: string) => `Chances now: ${parts}.`,
  barPart: (name: string, percent: string) => `${name} ${percent}`,
};
