/** Texts of a brood's story, of the list of broods, and of what happened to them. */
import { counted } from './frame';

export const brood = {
  list: {
    title: 'Broods', underWay: 'Under way', finished: 'Finished', none: 'No brood yet. When a male holds, say so and the watch begins.',
    start: 'Begin a watch', of: (name: string, when: string) => `${name}, ${when}`, day: (n: number) => `day ${n}`, looks: (n: number) => counted(n, 'look', 'looks'), since: (when: string) => `since ${when}`,
  },
  title: (name: string) => `${name}’s brood`,
  missing: { title: 'This brood is not on this phone', text: 'It may come with the next connection.', back: 'All broods' },
  back: 'All broods',
  inside: 'What is going on inside',
  nights: {
    title: 'The coming nights', table: 'The nights as a table', night: 'Night', saved: 'Saved of 100', tonight: 'tonight', best: 'night to catch',
    text: (best: string, saved: number) => `Catching ${best} saves the most: about ${saved} of 100.`,
    beyond: (night: string) => `The night to catch, ${night}, comes after these.`, none: 'On none of the coming nights would catching him save much.', axis: 'saved, of 100',
  },
  story: {
    title: 'When each step falls', table: 'The steps as a table', step: 'Step', early: 'Hardly before', likely: 'Most likely', late: 'Hardly after',
    names: { spawned: 'Spawned', silver: 'Eggs silver', hatched: 'Hatched', released: 'First young out', released_last: 'Last young out' },
    text: (name: string, likely: string, early: string, late: string) => `${name}: about ${likely}, nine times in ten between ${early} and ${late}.`,
    now: 'now', catch: 'catch', before: 'before', lanes: 'Looks', lane: { mouth: 'Mouth', eggs: 'Eggs', tails: 'Tails', food: 'Food', loose_fry: 'Loose young' },
    how: 'Thick: the middle half. Thin: nine in ten. Stroke: the likeliest.',
  },
  why: {
    title: 'Why', moved: (from: string, to: string, look: string) => `Moved from ${from} to ${to}: ${look}.`, movedPlain: (from: string, to: string) => `Moved from ${from} to ${to}.`,
    first: (to: string) => `${to} is the first night named.`, withdrawn: (from: string) => `${from} is withdrawn: there is probably nothing left to save.`,
    same: 'The night has not moved.', then: (when: string) => `Before (${when})`, nowCol: 'Now', hatch: 'Hatching', catch: 'Night to catch', none: 'none',
    used: (n: number) => `It rests on ${counted(n, 'look or feeding', 'looks and feedings')}.`, readAt: (when: string) => `Worked out ${when}.`,
  },
  looks: {
    title: 'Looks', none: 'No look yet.', waiting: 'not gone up yet', conflict: 'does not fit the others', notBelieved: (parts: string) => `not believed: ${parts}`,
    concurrent: 'written apart on two phones', clock: 'this phone’s clock was doubtful', mend: 'Mend', mendOf: (when: string) => `Mend the look of ${when}`, close: 'Close', save: 'Save what is mended', mended: 'Look mended', slip: 'It was a slip: take it out', slipped: 'Look taken out', note: 'Note', noteSave: 'Save the note',
    parts: { mouth: 'mouth', eggs: 'eggs', tails: 'tails', food: 'food', loose_fry: 'loose young', clutch: 'clutch' }, more: (n: number) => `All ${n} looks`,
    giveOrTake: (minutes: number) => (minutes >= 90 ? `give or take ${Math.round(minutes / 60)} h` : `give or take ${minutes} min`),
  },
  gap: { title: 'Full all these days?', text: (from: string, to: string, days: number) => `Nothing was logged from ${from} to ${to} (${counted(days, 'day', 'days')}), and he was full before and after.`, yes: 'Yes, full', weaker: 'Kept as filled in afterwards; it counts less than a look.', said: 'Full all these days' },
  happened: {
    title: 'What happened', when: 'When', save: 'Save',
    names: { spawning: 'Spawning seen', courtship: 'Courtship seen', caught: 'He was caught', released: 'He let them go', lost: 'He lost them', mistake: 'He never held' },
    text: { spawning: 'The best of all dates: it settles the clock.', courtship: 'Spawning often follows within a day and a half.', caught: 'Count what came out of his mouth.', released: 'How many young were found and kept?', lost: 'It happens to many males, most of all on their first hold. Feed him well; rest him about a month (common practice, no source).', mistake: 'Ends this watch and keeps the looks.' },
    counts: { eggs: 'Eggs', yolk: 'Young with yolk sac', free: 'Free young', kept: 'Young kept' }, less: (what: string, n: number) => `${n} fewer: ${what}`, more: (what: string, n: number) => `${n} more: ${what}`,
  },
  ended: { caught: 'Caught', released: 'Let go', lost: 'Lost', mistake: 'No hold', keptUnit: 'young kept', at: (what: string, when: string) => `${what} ${when}`, open: 'It is not over: open again', opened: 'Opened again', none: 'Under way' },
  marks: { title: 'Marks', courtship: 'Courtship seen', spawning: 'Spawning seen', caught: (eggs: number, yolk: number, free: number) => `Caught: ${counted(eggs, 'egg', 'eggs')}, ${yolk} with yolk sac, ${free} free`, loose_fry_handled: 'Loose young made safe' },
  cautions: {
    title: 'Before hands go in',
    list: [
      'Mains by salt water: an RCD (GFCI) on every socket, drip loops on every cable, unplug before hands go in.',
      'A wet floor in a dark room: a towel down, a clear way, somebody who holds the lamp.',
      'Broken skin keeps out of the water (Mycobacterium marinum). Mind urchin spines.',
      'A weak male comes before the brood: if he is thin, leave him be.',
    ],
    law: 'Keeping, moving or selling a protected species follows local law.',
  },
};
