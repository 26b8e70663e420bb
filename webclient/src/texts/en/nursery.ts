/** Texts of the nursery: batches of young, what is logged of them, their duties, and the foods of the house. */
import type { DutyKind } from './tonight';

/** What is asked for of young in their nursery vessel. */
export const nurseryKinds: Readonly<Record<string, DutyKind>> = {
  feed_fry: { title: 'Feed the young', text: 'A little of what they take by now, so that it is eaten soon: rotifers or copepods for larvae too small for brine shrimp. Of brine shrimp newly hatched ones for the first two days, then enriched ones. Say afterwards how full their bellies are.', not: 'No food left to rot: take out what they leave.' },
  start_food: { title: 'Set a hatch going', text: 'Cysts in clean salt water, warm and lit as the tin says, air from below. Newly hatched they take nothing in until they are about 8 h old: enriching needs its hours besides.', not: 'No breath over dry cysts: their dust can bring on an allergy.' },
  test_water: { title: 'Test the water of the young', text: 'Ammonia; pH and temperature with it, for they say how much of it is free.', not: 'No colours read by red light.' },
  change_water: { title: 'Change water of the young', text: 'Draw leftovers off the bottom, then refill slowly, within 0.5 °C and 1 psu of theirs.', not: 'No cold or unmatched water, no hose that could draw young in.' },
  ammonia_high: { title: 'Too much ammonia: change water now', text: 'Draw off leftovers, change water, feed less, and test again afterwards.', not: 'No unmatched water, however much it hurries.' },
  count_fry: { title: 'Count the young', text: 'From a photo from above, or by two people apart. Say how sure it is.', not: 'No net for counting.' },
};
/** What one is called before its day. */
export const nurseryAhead: Readonly<Record<string, string>> = { feed_fry: 'The next meal of the young', count_fry: 'The next count of the young', test_water: 'The next test of their water', change_water: 'The next change of their water' };

const bellies = { full: 'full', half: 'half full', empty: 'empty' };

export const nursery = {
  title: 'Nursery', unnamed: 'Batch without a name', forYoung: (name: string) => `for the young in ${name}`,
  where: (spot: string, of: string) => [spot, of].filter(Boolean).join(' · '), ofMale: (name: string) => `young of ${name}`,
  list: {
    running: 'Being raised', none: 'No young are being raised here. Once a male was caught or has let his young go, open a batch for them.', open: 'Open a batch', over: (n: number) => `Ended batches (${n})`, next: (what: string, when: string) => `${what}: ${when}`, nothing: 'Nothing to do for them now',
    lately: 'Young without a batch', latelyText: (name: string, when: string) => `${name}, ${when}`, openFor: (name: string) => `Open a batch for the young of ${name}`,
  },
  figures: {
    uncounted: 'not counted', alive: 'alive', how: { exact: 'alive, counted', about: 'alive, about', at_least: 'alive, at least' }, dead: (n: number) => `${n} found dead since that count`, counted: (when: string) => `Last count ${when}`,
    days: (n: number) => (n === 1 ? 'day' : 'days'), hatched: 'since they hatched', vessel: 'in their vessel', meal: (when: string) => `First meal about ${when}`,
  },
  fed: {
    title: 'Fed just now', ask: 'How full are their bellies?', bellies, only: 'Fed, not looked', said: (belly: string | null) => (belly ? `Fed, bellies ${belly}` : 'Fed'),
    empty: 'At the last meal bellies were empty. That warns about a day before deaths: see whether the food is alive and small enough, and test the water. If they lie or gasp, ask a vet who knows fish.',
  },
  log: {
    title: 'What was logged', none: 'Nothing yet.', more: (n: number) => `All ${n}`, say: 'Log something else', duties: (n: number) => `What was said of the duties (${n})`, correctOf: (what: string, when: string) => `Correct: ${what}, ${when}`, save: 'Save', when: (what: string) => `When: ${what}`,
    names: { count: 'Count', dead: 'Found dead', water_test: 'Water test', water_change: 'Water change', culture: 'Set a hatch going', feeding: 'Fed at another time' },
    alive: (n: number, how: string) => `${n} alive, ${how}`, hows: { exact: 'counted', about: 'about', at_least: 'at least' }, found: (n: number) => `${n} found dead`,
    changed: (volume: string, jugs: string | null) => `${volume} of water changed${jugs ? ` (${jugs})` : ''}`, jugs: (n: string, jug: string) => `${n} × ${jug}`,
    tested: (parts: string) => `Water: ${parts}`, ammonia: (n: string) => `ammonia ${n} mg/L N`, nitrite: (n: string) => `nitrite ${n} mg/L N`, ph: (n: string) => `pH ${n}`, psu: (n: string) => `${n} psu`,
    hatch: (food: string, amount: string) => (amount ? `${food} set going: ${amount}` : `${food} set going`), grams: (n: string) => `${n} g`, inWater: (amount: string, volume: string) => [amount, volume].filter(Boolean).join(' in '), noted: 'A note',
    dutyNames: { feed: 'Feed the young', hatch: 'Set a hatch going', test: 'Test the water', change: 'Change water', ammonia: 'Too much ammonia', count: 'Count the young' },
  },
  form: {
    alive: 'Alive', how: 'How sure', hows: { exact: 'Counted', about: 'About', at_least: 'At least' }, dead: 'Found dead', belly: 'Bellies', noBelly: 'not looked',
    ammonia: 'Total ammonia, mg/L', nitrite: 'Nitrite, mg/L', ph: 'pH', temperature: (unit: string) => `Temperature, ${unit}`, salinity: 'Salinity, psu', kit: 'The kit shows', asN: 'as nitrogen (N)', asIon: 'as NH₄ and NO₂', kitText: 'The leaflet says which. It is kept as nitrogen.', keptText: 'Ammonia and nitrite stand here as they are kept, in mg/L of nitrogen (N), whatever the kit shows.', byDay: 'By day light: this has to be typed.',
    water: 'Changed', volume: (unit: string) => `Water changed, ${unit}`, less: (what: string) => `${what} less`, more: (what: string) => `${what} more`,
    grams: 'Cysts, g', measures: 'Cysts', food: 'Which tin', noFood: 'of no tin here', vessel: (unit: string) => `In how much water, ${unit}`, forWhom: 'For', noNumber: 'This must be a number.', range: (low: string, high: string) => `From ${low} to ${high}.`,
  },
  water: {
    title: 'Ammonia', last: (when: string) => `Test ${when}`, free: (n: string) => `${n} mg/L free (NH₃-N)`,
    verdict: { well: 'Below the line for caution, 0.010.', caution: 'Caution: above 0.010. Change water, take leftovers out, test again today.', alarm: 'Alarm: above 0.025. Change water now and test again.' },
    assumed: (what: string) => `Taken as usual, for it was not measured: ${what}.`, parts: { ph: 'pH', temperature_c: 'temperature', salinity_psu: 'salinity' }, pending: 'What of it is free is worked out with the next connection.', unknown: 'What of it is free cannot be told from these values: look at pH, temperature and salinity again.', old: 'That was days ago: test again to know how it is today.', never: 'Not tested yet.',
  },
  batch: {
    name: 'Name of the batch', nameHint: 'such as Cube A', spot: 'Where it stands', litres: (unit: string) => `Volume, ${unit}`, alive: 'How many are alive', aliveFirst: 'How many there were at first', aliveToday: (say: string, count: string) => `How many there are today: under ${say}, ${count}.`, meals: 'Meals a day', portion: 'One meal, in your own measure', portionHint: 'one level blue spoon', jug: 'Water is changed with', jugHint: 'white jug', jugLitres: (unit: string) => `One of it holds, ${unit}`,
    since: 'In their vessel since', save: 'Save', openTitle: 'Open a batch', openOf: (name: string) => `Open a batch: young of ${name}`, opened: (name: string) => `${name} opened`, changed: (name: string) => `${name} changed`, startName: (male: string, day: string) => `${male} ${day}`, change: 'Change the batch', atLeastZero: 'This must be a number, 0 or more.', tapless: 'not said',
  },
  end: {
    title: 'End the batch', text: 'Its log stays.', when: 'When it ended', names: { weaned: 'They are weaned', lost: 'All were lost', mistake: 'Opened by mistake' }, said: { weaned: 'Weaned', lost: 'All lost', mistake: 'Opened by mistake' }, at: (how: string, when: string) => `${how}, ${when}`, again: 'It is not over: open again', opened: 'Opened again',
    lost: 'Most first batches are lost, and it is no fault of yours. What was logged shows where: look at bellies and ammonia first.',
  },
  missing: { title: 'No such batch', text: 'This batch is not on this device. It may come with the next connection.', back: 'To the nursery' },
  ofBrood: { open: 'Open a nursery batch', see: (name: string) => `To the nursery: ${name}`, toBrood: 'To their brood' },
  cautions: {
    title: 'What young are lost by',
    list: [
      'Food that is not enriched: 80.7 % of Banggai young died on newly hatched brine shrimp alone, 5.3 % on enriched (Vagelli 2004).',
      'Food left to rot. Take it out before the next meal, and dead young with it.',
      'Cold or unmatched water. New water within 0.5 °C and 1 psu of theirs (from memory).',
      'Mains by salt water: an RCD (GFCI), drip loops, unplug before hands go in. A full vessel is heavy: empty it before it is lifted.',
    ],
    law: 'Deformed young are killed humanely as local law and a vet advise. No fish and no water goes to the sea.',
  },
  foods: {
    title: 'Foods of the house', none: 'No tin yet. With what a tin gives, amounts can be told in your own measure.', add: 'Add a food', change: 'Change', changeOf: (name: string) => `Change ${name}`, finish: 'Finished', finishOf: (name: string) => `${name} is finished`, finished: (n: number) => `Finished (${n})`, back: 'There is some again', backOf: (name: string) => `There is ${name} again`, setGoing: 'Set a hatch going', setGoingOf: (name: string) => `Set a hatch going: ${name}`,
    sorts: { brine_shrimp: 'Brine shrimp', rotifers: 'Rotifers', copepods: 'Copepods', frozen: 'Frozen', dry: 'Dry' }, sort: 'Sort', name: 'Name', nameHint: 'such as the red tin', perGram: 'Nauplii from one gram', toHatch: 'Hours until nine in ten have hatched', toEnrich: 'Hours it is enriched', measure: 'It is taken out with', measureHint: 'level blue spoon', measureGrams: 'One of it weighs, g', save: 'Save', saved: (name: string) => `${name} saved`,
    yields: (n: string) => `${n} nauplii a gram`, unknownYield: 'nauplii a gram not known', hatches: (hours: string) => `hatched in ${hours} h`, weighs: (measure: string, grams: string) => `${measure}: ${grams} g`,
    differ: 'Tins differ: by origin one gram gives up to 4.6 times as many as another (Vanhaecke & Sorgeloos 1983). Count your own.', dust: 'The dust of dry cysts can bring on an allergy: no breath over them, lid on, hands washed.',
    going: 'Set going lately', ready: (when: string) => `Most hatched about ${when}`, goingFor: (name: string) => `for ${name}`,
  },
  sheet: {
    title: 'Count what this tin gives', how: 'Hatch 1.6 g in 800 mL for 24 h. Take six samples of 250 µL, count each, and write the means here (FAO 361, from memory).', nauplii: 'Nauplii', umbrellas: 'Umbrella stages, half out', unhatched: 'Cysts not hatched', result: (percent: string, perGram: string) => `${percent} % hatched, ${perGram} nauplii a gram`, resultBare: (perGram: string) => `${perGram} nauplii a gram`, take: 'Use this number',
  },
};
