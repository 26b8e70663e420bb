/** Chances and looks in words: as sure as they are, never surer. */
import { describe, expect, it } from 'vitest';
import { barWords, insideSentence, lossAside, percent } from '../../src/ui/chances';
import { lookWords } from '../../src/ui/said';

const NONE = { eggs: 0, eyed: 0, held_young: 0, releasing: 0, released: 0, lost: 0 };
const plain = (text: string | null): string | null => text && text.replaceAll('\u202f', ' ');

describe('what is going on inside', () => {
  it('is said with its chance', () => {
    expect(plain(insideSentence({ ...NONE, held_young: 0.78, eyed: 0.22 }))).toBe('Probably hatched (78 %), still in his mouth');
  });

  it('names two states where none has half of the chance', () => {
    expect(plain(insideSentence({ ...NONE, held_young: 0.42, eyed: 0.4, lost: 0.18 }))).toBe('Hard to say: hatched (42 %) or silver (40 %)');
  });

  it('never claims to be certain', () => {
    expect(plain(percent(0.9999))).toBe('over 99 %');
    expect(plain(percent(0))).toBe('under 1 %');
    expect(insideSentence({ ...NONE, eggs: 0.97, eyed: 0.03 })).toMatch(/^Almost surely/);
  });

  it('speaks of a loss once, and only where it is worth a word', () => {
    expect(lossAside({ ...NONE, eggs: 0.8, lost: 0.125 })).toBe('About 1 in 8 that he has lost them');
    expect(lossAside({ ...NONE, eggs: 0.95, lost: 0.05 })).toBeNull();
    expect(lossAside({ ...NONE, eggs: 0.3, lost: 0.25, eyed: 0.2 })).toBeNull();
    expect(lossAside({ ...NONE, lost: 0.9, released: 0.1 })).toBeNull();
  });

  it('says the same as the bar, the likeliest first', () => {
    expect(plain(barWords({ ...NONE, eyed: 0.25, held_young: 0.75 }))).toBe('Chances now: hatched 75 %, silver 25 %.');
  });
});

describe('a look', () => {
  it('is said by the parts that were seen', () => {
    expect(lookWords({ light: 'red', mouth: 'full', tails: 'seen' })).toBe('full, tails seen');
    expect(lookWords({ light: 'red' })).toBe('nothing noted');
    expect(lookWords({ mouth: 'full', recalled: true })).toBe('full, filled in afterwards');
  });
});
