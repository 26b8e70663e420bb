/** Texts of a brood's story, of the list of broods, and of what happened to them. */
import { counted } from './frame';

/** In the dark one needs a lamp, and somebody to hold it; but not at a nest. */
export const wetFloor = 'A wet floor in a dark room: a towel down, a clear way, somebody who holds the lamp.';

export const brood = {
  list: {
    title: 'Broods', underWay: 'Under way', finished: 'Finished', none: 'No brood yet. When a male holds or guards a clutch, say so and the watch begins.',
    start: 'Begin a watch', looks: (n: number) => counted(n, 'look', 'looks'), since: (when: string) => `since ${when}`,
  },
  title: (name: string) => `${name}’s brood`,
  missing: { title: 'This brood is not on this device', text: 'It may come with the next connection.', back: 'All broods' },
  back: 'All broods',
  inside: 'What is going on inside',
  nights: {
    title: 'The coming nights', table: 'The nights as a table', night: 'Night', saved: 'Saved', tonight: 'tonight', best: 'best', away: 'away',
    how: 'Saved: of 100 young, and below how many fewer than on the night to catch. The other numbers are the chances, in %, of what he would have in his mouth at that hour: caught too early they are still eggs, too late they are let go among the others.',
    text: (best: string, saved: number) => `Catching ${best} saves the most: about ${saved} of 100.`,
    beyond: (night: string) => `The night to catch, ${night}, comes after these.`, none: 'On none of the coming nights would catching him save much.', axis: 'saved, of 100',
  },
  story: {
    title: 'When each step falls', table: 'The steps as a table', step: 'Step', early: 'Hardly before', likely: 'Most likely', late: 'Hardly after',
    names: { spawned: 'Spawned', silver: 'Eggs silver', hatched: 'Hatched', released: 'First young out', released_last: 'Last young out' },
    text: (name: string, likely: string, early: string, late: string) => `${name}: about ${likely}, nine times in ten between ${early} and ${late}.`,
    now: 'now', flag: 'catch', lane: { mouth: 'Mouth', clutch: 'Clutch', eggs: 'Eggs', tails: 'Tails', food: 'Food', loose_fry: 'Loose young' },
    how: 'Thick: the middle half. Thin: nine in ten. Stroke: the likeliest.',
  },
  why: {
    title: 'Why', moved: (from: string, to: string, look: string) => `Moved from ${from} to ${to}: ${look}.`, movedPlain: (from: string, to: string) => `Moved from ${from} to ${to}.`,
    first: (to: string) => `${to} is the first night named.`, withdrawn: (from: string) => `${from} is withdrawn: there is probably nothing left to save.`,
    same: 'The night has not moved.', then: (when: string) => `Before (${when})`, nowCol: 'Now', hatch: 'Hatching', none: 'none',
    used: (n: number) => `It rests on ${counted(n, 'look or feeding', 'looks and feedings')}.`, readAt: (when: string) => `Worked out ${when}.`,
  },
  looks: {
    title: 'Looks', none: 'No look yet.', waiting: 'Not gone up yet', conflict: 'Does not fit the others', notBelieved: (parts: string) => `Not believed: ${parts}`,
    correctOf: (when: string) => `Correct the look of ${when}`,
    saw: (who: string, what: string, light: string) => `${who} ${what} (${light.toLocaleLowerCase()})`,
    different: (part: string, all: string, rule: string) => `Seen differently this evening, ${part}: ${all}. ${rule}`,
    betterLight: (what: string) => `The better light counts: ${what}.`, sameLight: 'The light was the same, so neither counts for more.',
    leftOut: {
      ahead: 'Not used: its time lies ahead of the forecast. Correct its time.',
      before: (day: string) => `Not used: it lies before ${day}, and until then he surely did not hold. Correct its time, or`,
      tooEarly: 'Not used: it lies too early to be of this brood. Correct its time or the male, or',
    },
    toBeginning: 'when he took them up',
    parts: { mouth: 'mouth', eggs: 'eggs', tails: 'tails', food: 'food', loose_fry: 'loose young', clutch: 'clutch' }, more: (n: number) => `All ${n} looks`,
    giveOrTake: (minutes: number) => (minutes >= 90 ? `give or take ${Math.round(minutes / 60)} h` : `give or take ${minutes} min`),
  },
  gap: { title: 'Full all these days?', text: (from: string, to: string, days: number) => `Nothing was logged from ${from} to ${to} (${counted(days, 'day', 'days')}), and he was full before and after.`, yes: 'Yes, full', weaker: 'Kept as filled in afterwards; it counts less than a look.', said: 'Full all these days' },
  correct: {
    open: 'Correct', change: 'Change', asItWas: 'Leave the time as it was', save: 'Save the correction', done: 'Corrected', lookDone: 'Look corrected', note: 'Note', whenLook: 'When he was looked at', when: (what: string) => `When: ${what}`,
    slip: 'It was a slip: take it out', out: 'Taken out', lookOut: 'Look taken out', notYours: 'Somebody else wrote this: the owner or a keeper can take it out.', noTime: 'no time said',
    clockAsk: 'The device’s clock was wrong when this was written, so the time was worked out afterwards.', clockRight: 'The time is right',
    colourKept: 'The colour of the eggs hardly shows in this light. What was logged stays unless you take it back.',
    before: (day: string) => `Before ${day} this male surely did not hold, so the household would not take it. Choose a later time or another male, or correct when he took them up.`,
  },
  beginning: {
    title: 'Took them up', between: (from: string, to: string) => (from === to ? from : `Between ${from} and ${to}`), until: (day: string) => `By ${day}; before that nothing is known`, from: (day: string) => `Not before ${day}`, unknown: 'Nobody has said when',
    forget: 'That day is not known', done: (what: string) => `${what}: corrected`, how: 'A spawning that was seen counts for more than these days.',
    crossed: 'These days are out of order, so nothing can be worked out. Correct them.',
    looksBefore: (n: number) => `${counted(n, 'look lies', 'looks lie')} before that day and would not count.`,
  },
  happened: {
    title: 'What happened', say: 'Has something happened?', when: 'When', save: 'Save', ofDuties: (n: number) => `What was said of the duties (${n})`,
    names: { spawning: 'Spawning seen', courtship: 'Courtship seen', caught: 'He was caught', released: 'He let them go', lost: 'He lost them', mistake: 'He never held' },
    text: { spawning: 'The best of all dates: it settles the clock.', courtship: 'Spawning often follows within a day and a half.', caught: 'Count what came out of his mouth.', released: 'How many young were found and kept?', lost: 'It happens to many males, most of all on their first hold. Feed him well; rest him about a month (common practice, no source).', mistake: 'Ends this watch and keeps the looks.' },
    counts: { eggs: 'Eggs', yolk: 'Young with yolk sac', free: 'Free young', kept: 'Young kept' }, less: (what: string, n: number) => `${n} fewer: ${what}`, more: (what: string, n: number) => `${n} more: ${what}`,
  },
  ended: {
    caught: 'Caught', released: 'Let go', lost: 'Lost', mistake: 'No hold', keptUnit: 'young kept', at: (what: string, when: string) => `${what} ${when}`, open: 'It is not over: open again', opened: 'Opened again', none: 'Under way',
    twice: (n: number) => `He was marked as caught ${n === 2 ? 'twice' : `${n} times`}. The first counts; below you can take out what is too much.`,
  },
  marks: {
    names: { loose_fry_handled: 'Loose young made safe' },
    counts: (eggs: number, yolk: number, free: number) => `${counted(eggs, 'egg', 'eggs')}, ${yolk} with yolk sac, ${free} free`, kept: (n: number) => `${n} young kept`,
    duties: { look: 'Look', window: 'Set up the nursery', catch: 'Catch him', loose: 'Loose young', lost: 'See whether he still holds', pumps: 'Pumps back on', part: 'Let him recover, apart', eats: 'See whether he eats again', condition: 'See how his condition is', rest: 'His rest is over', pair: 'Pair him again', food: 'Start the first food' },
    saidOfDuty: { taken: (duty: string) => `${duty}: taken on`, done: (duty: string) => `${duty}: done`, handed_back: (duty: string) => `${duty}: handed back`, later: (duty: string) => `${duty}: put off`, skipped: (duty: string) => `${duty}: left out` },
  },
  dutyOver: 'What the reminder spoke of is done or over by now.',
  cautions: {
    title: 'Before hands go in',
    list: [
      'Mains by salt water: an RCD (GFCI) on every socket, drip loops on every cable, unplug before hands go in.',
      wetFloor,
      'Broken skin keeps out of the water (Mycobacterium marinum). Mind urchin spines.',
      'A weak male comes before the brood: if he is thin, leave him be.',
    ],
    law: 'Keeping, moving or selling a protected species follows local law.',
  },
};
