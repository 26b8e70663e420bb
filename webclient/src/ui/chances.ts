/** Chances put into words: as sure as they are, never surer. */
import { STATES, type Chances, type State } from '../domain/forecast';
import { texts } from '../texts';

const NARROW = '\u202f';
/** Below this no state may be named alone. */
const OPEN_BELOW = 0.5;
/** From this chance on a loss is worth a word. */
const WORTH_SAYING = 0.08;

/** A chance of 0 to 1 as a percentage that never claims 0 or 100. */
export function percent(chance: number): string {
  const whole = Math.round(chance * 100);
  if (whole < 1) return `under 1${NARROW}%`;
  if (whole > 99) return `over 99${NARROW}%`;
  return `${whole}${NARROW}%`;
}

/** A difference of shares in whole fish of a hundred. */
export function ofHundred(share: number): number {
  return Math.round(share * 100);
}

/** The states from the likeliest down. */
export function ranked(chances: Chances): State[] {
  return [...STATES].sort((a, b) => chances[b] - chances[a]);
}

/** How sure a sentence may sound at this chance. */
export function sureness(chance: number): 'sure' | 'likely' | 'open' {
  if (chance >= 0.95) return 'sure';
  return chance >= 0.55 ? 'likely' : 'open';
}

type StateWords = typeof texts.states;

function openSentence(first: State, second: State, chances: Chances, words: StateWords): string {
  const part = (state: State) => words.openPart(words.short[state], percent(chances[state]));
  return words.open(part(first), part(second));
}

/** What is going on inside him, in one sentence; `words` are those of his way. */
export function insideSentence(chances: Chances, words: StateWords = texts.states): string {
  const [first, second] = ranked(chances) as [State, State];
  if (chances[first] < OPEN_BELOW) return openSentence(first, second, chances, words);
  return words.sentence[first](sureness(chances[first]), percent(chances[first]));
}

/** "About 1 in 8 that he has lost them", where that is worth saying and not the main thing already. */
export function lossAside(chances: Chances, words: StateWords = texts.states): string | null {
  const [first, second] = ranked(chances) as [State, State];
  const isSaid = first === 'lost' || (second === 'lost' && chances[first] < OPEN_BELOW);
  if (isSaid || chances.lost < WORTH_SAYING) return null;
  return words.alsoLost(Math.round(1 / chances.lost));
}

/** The six chances in words, the same as the bar shows. */
export function barWords(chances: Chances, words: StateWords = texts.states): string {
  const parts = ranked(chances)
    .filter((state) => chances[state] >= 0.005)
    .map((state) => words.barPart(words.short[state], percent(chances[state])));
  return words.barText(parts.join(', '));
}
