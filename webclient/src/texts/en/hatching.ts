/** What is said otherwise of males whose young hatch after dark: let go by him at hatching, or out of a nest. */
import { AT_HATCHING, NEST } from '../../domain/ways';
import { en } from '../en';
import type { DutyKind } from './tonight';

const { frame, look, states, tonight } = en;
type Sureness = Parameters<typeof states.sentence.eggs>[0];
const adverb: Record<Sureness, string> = { sure: 'Almost surely', likely: 'Probably', open: 'Perhaps' };

const hatched = (sure: Sureness, percent: string): string => `${adverb[sure]} hatched (${percent})`;
const ofBoth = {
  // Hatching is the release: nothing is ever held or let go after it.
  states: {
    ...states,
    short: { ...states.short, held_young: 'hatched', releasing: 'hatched', released: 'hatched' },
    sentence: { ...states.sentence, held_young: hatched, releasing: hatched, released: hatched },
  },
  catch: {
    ...tonight.catch,
    title: 'Hatch night',
    earlier: (n: number) => (n > 0 ? `One night earlier saves ${n} in 100 fewer (more are still eggs)` : 'One night earlier is as good'),
    later: (n: number) => (n > 0 ? `one night later ${n} fewer (more have hatched by then)` : 'one night later is as good'),
    laterOnly: (n: number) => (n > 0 ? `One night later saves ${n} in 100 fewer (more have hatched by then)` : 'One night later is as good'),
    none: 'No hatch night: there is probably nothing left to hatch.',
    strip: 'Saved where each of the coming nights is taken as the hatch night',
    stripText: (best: string) => `Of the coming nights, ${best} is the one to be ready for.`,
  },
  verdict: {
    ...look.verdict,
    stays: (night: string) => `Hatch night: ${night}, as before`,
    moves: (from: string, to: string) => `Hatch night: ${to} instead of ${from}`,
    none: 'No hatch night any more',
    stillNone: 'No hatch night',
  },
  next: (name: string, night: string, time: string) => `Next hatch night: ${name}, ${night}, ${time}`,
  larvae: {
    label: { label: 'Larvae in the water', names: look.loose_fry.names },
    said: { seen: 'larvae in the water', none: 'no larvae in the water' },
    glance: 'Larvae are in the water: act now',
  },
};

/** The alarm when they are in the water already, with the steps of one way. */
function fryOf(steps: string[]): typeof tonight.fry {
  return {
    ...tonight.fry, title: 'Larvae are in the water. At once:', steps,
    seen: (who: string, when: string) => `Larvae seen in the water with ${who}, ${when}`,
    seenUnsure: (tank: string, males: readonly string[], when: string) => `Larvae seen in ${tank}, ${when}. Perhaps from ${males.join(' or ')}`,
  };
}

/** The duties with those of one way only; `ahead` names them before their evening. */
function dutiesOf(own: Readonly<Record<string, DutyKind>>): typeof tonight.duty {
  return { ...tonight.duty, ahead, kinds: { ...tonight.duty.kinds, larvae_loose: larvaeLoose, ...own } };
}
const ahead = { ...tonight.duty.ahead, move_male: 'Move him', collect_larvae: 'Collect the larvae' };
const larvaeLoose = { title: 'Larvae are in the water', text: 'Pumps off or intakes guarded. A small light at one corner draws them; scoop with a cup.', not: 'No net, no air stone.' };

const atHatching: typeof en = {
  frame,
  states: ofBoth.states,
  look: { ...look, verdict: ofBoth.verdict, loose_fry: ofBoth.larvae.label, said: { ...look.said, loose_fry: ofBoth.larvae.said } },
  tonight: {
    ...tonight,
    glance: {
      ...tonight.glance,
      next: ofBoth.next,
      catch: (name: string, time: string) => `Hatch night of ${name}: ${time}, in his own vessel`,
      catchNow: (name: string) => `${name} may let them go in these hours: leave him in the dark`,
      past: (name: string) => `The hatch night of ${name} is over: see whether he still holds`,
      fry: ofBoth.larvae.glance,
    },
    catch: {
      ...ofBoth.catch,
      act: (isTonight: boolean) => `${isTonight ? 'If he is not in a vessel of his own yet, move him there before lamps-out, calmly and in water:' : 'Move him one or two evenings ahead, calmly and in water, to a vessel of his own:'} there he lets them go after dark. Never net him and make him spit: what he holds until then are eggs.`,
    },
    fry: fryOf(['Pumps off, or guard the intakes. Remember to switch them back on.', 'Room dark: a small light at one corner draws them.', 'Scoop them with a cup or draw them off with a hose, never a net.', 'He may let more go: leave him be meanwhile.']),
    duty: dutiesOf({
      move_male: { title: 'Move him tonight', text: 'Calmly, in water, to a vessel of his own: he lets them go at hatching.', not: 'Never net him and make him spit: he holds eggs until then.' },
    }),
  },
};

const nest: typeof en = {
  frame,
  states: {
    ...ofBoth.states,
    sentence: { ...ofBoth.states.sentence, lost: (sure: Sureness, percent: string) => `${adverb[sure]} the clutch is gone (${percent})` },
    alsoLost: (n: number) => `About 1 in ${n} that the clutch is gone`,
  },
  look: {
    ...look,
    verdict: ofBoth.verdict,
    loose_fry: ofBoth.larvae.label,
    said: { ...look.said, loose_fry: ofBoth.larvae.said },
    light: {
      ...look.light,
      noColour: 'In this light orange and silver look alike, so colour is not asked.',
      noted: {
        torch: 'Noted. Light in the night keeps the eggs from hatching and drives him off the nest: by day you see as much.',
        red: 'Noted. After lamps-out a nest wants no lamp, not even red: light keeps the eggs from hatching.',
      },
    },
    signs: { ...look.signs, of: NEST },
    caution: 'Look by day, from a step away. From lamps-out the nest needs full darkness to hatch: no lamp, not even red, and no screen at the glass.',
  },
  tonight: {
    ...tonight,
    dayOf: (off: number) => (off < 1 ? 'of the clutch' : `of the clutch, ± ${off}`),
    stillFull: 'Clutch still there',
    saved: { ...tonight.saved, full: (name: string) => `${name}: clutch still there` },
    glance: {
      ...tonight.glance,
      next: ofBoth.next,
      catch: (name: string, time: string) => `Hatch night at ${name}’s nest: full darkness, then collect, ${time}`,
      catchNow: (name: string) => `Collect the larvae at ${name}’s nest now`,
      past: (name: string) => `The hatch night at ${name}’s nest is over: see by day whether the clutch is there`,
      fry: ofBoth.larvae.glance,
    },
    catch: {
      ...ofBoth.catch,
      act: () => 'Full darkness from lamps-out, no red lamp either: light keeps them from hatching. Collect the larvae at the nest about an hour after.',
      past: 'This night is over, and no newer forecast has come. See by day whether the clutch is there: with the look and a connection another night is named.',
    },
    conflict: { ...tonight.conflict, todo: 'Look again by day, or correct it if it was a slip.' },
    lost: { title: 'The clutch may be gone', text: 'First clutches are often eaten or go bad, and it is no fault of yours. Look once more by day before you give up; the pair lays again, often within weeks.' },
    fry: fryOf(['Pumps off, or guard the intakes. Remember to switch them back on.', 'Room dark: a small light at one corner draws them.', 'Scoop them with a cup, or draw them off with a hose. No net, no air stone.', 'The rest of the clutch may still be eggs: it stays dark.']),
    duty: dutiesOf({
      collect_larvae: { title: 'Collect the larvae tonight', text: 'Full darkness from lamps-out. An hour later collect the larvae at the nest.', not: 'No light, not even red, until then.' },
      look_by_day: { title: 'Look at the feeding', text: 'A minute by day light, from a step away: the colour of the eggs tells most.', not: 'No torch, no hand near the nest.' },
      may_be_lost: { title: 'See whether the clutch is there', text: 'One look by day settles it.', not: 'No lamp at night.' },
      window_opens: { title: 'Set up the nursery', text: 'Hatching is near: fill it with water from the same tank, and start the first food.', not: 'No water from another tank.' },
    }),
  },
};

export const hatching = { [AT_HATCHING]: atHatching, [NEST]: nest };
