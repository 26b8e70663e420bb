/** Texts on what is believed of a brood: what was learned, which looks count, what to look for, and which plan. */
import { counted } from './frame';

const UP_TO_TEN = ['no', 'one', 'two', 'three', 'four', 'five', 'six', 'seven', 'eight', 'nine', 'ten'];
export const number = (n: number): string => UP_TO_TEN[n] ?? String(n);
const few = (n: number): string => n.toFixed(1).replace(/\.0$/, '');
const days = (n: number): string => (few(n) === '1' ? '1 day' : `${few(n)} days`);
const shift = (n: number): string => `${days(Math.abs(n))} ${n < 0 ? 'earlier' : 'later'}`;
const broods = (n: number): string => (n === 1 ? 'brood' : `${number(n)} broods`);
const first = (words: string): string => words.charAt(0).toLocaleUpperCase('en') + words.slice(1);

export const belief = {
  learned: {
    title: 'What your own broods have taught',
    own: (n: number, name: string, than: string, at: string) => `Your last ${broods(n)} from ${name} hatched ${than}${at}; the forecast now leans on that.`,
    ownLost: (n: number, lost: number, name: string, than: string, at: string) => `Your last ${number(n)} broods from ${name}, ${number(lost)} of them lost, point to hatching ${than}${at}; the forecast now leans on that.`,
    none: (name: string) => `No brood of ${name} has been followed to its hatching yet.`,
    house: (n: number, lost: number, than: string, at: string) => `Your last ${broods(n)} from other males${lost > 0 ? `, ${number(lost)} of them lost, point to hatching` : ' hatched'} ${than}${at}; the forecast leans on that as far as it may hold for him too.`,
    all: (n: number, than: string) => `All ${number(n)} of this household together: ${than}.`,
    than: (by: number) => (few(Math.abs(by)) === '0' ? 'when the books say' : `${shift(by)} than the books`),
    at: (warmth: string) => ` (both reckoned at ${warmth})`,
    start: (day: string, books: string) => `So before any look it expects hatching ${day} after the spawning, where the books say ${books}.`,
    mouth: (day: string) => `The young are expected to stay about ${day} in his mouth after hatching.`,
    early: (n: number) => `Of his holds about one in ${number(n)} may end in the first days, going by his own and by what is known of such fish. It is no fault of yours, nor a fault in him.`,
    days, from: 'Learned from', brood: (name: string, when: string) => `${name}, ${when}`, lostOne: 'lost',
  },
  because: {
    whose: (name: string, when: string | null) => (when === null ? `another brood of ${name}’s` : `${name}’s brood of ${when}`),
    taught: (whose: string) => `what ${whose} teaches was corrected or added`, untaught: (whose: string) => `${whose} teaches nothing any more, for it was opened again or taken out`,
    anew: (why: string) => `Hatching is reckoned anew: ${why}.`, open: 'Open that brood', fed: { ate: 'he ate at a feeding', spat: 'he spat food at a feeding', ignored: 'he ignored food at a feeding' },
  },
  weights: {
    title: 'What counts most', none: 'No single look moves it by much.',
    puts: (n: number) => `It puts hatching ${shift(n)}.`, night: (without: string) => `Without it the night would be ${without}.`, noNight: 'Without it no night would be named.',
    without: (isEvening: boolean, parts: string) => `Without ${isEvening ? 'this evening’s looks' : 'this look'}: ${parts}.`, hatch: (n: number) => `hatching ${shift(n)}`, instead: (night: string, now: string) => `${night} instead of ${now}`, none2: 'no night',
  },
  next: {
    title: 'The next look', now: 'now', when: { daylight: 'at the usual feeding, lamps on', red: 'after lamps-out, dim red lamp' } as Readonly<Record<string, string>>,
    lookFor: { tails: 'Look for tails between his lips.', mouth: 'Look whether his throat is full.', eggs: 'Look for the colour of the eggs.', food: 'See whether he takes food. Only at his normal feeding, never as a test.', loose_fry: 'Look for loose young in the tank.', clutch: 'Look whether the clutch is there.' } as Readonly<Record<string, string>>,
    gain: (n: string) => `It gains ${n} in 100 young: it may show a better night.`, costs: (n: string) => `It costs ${n} in 100 by the disturbance (assumption).`, free: 'With the lamps on, from a step away, it costs him nothing.',
    about: (n: number) => (n < 1 ? 'under 1' : `about ${n}`), past: 'Its hour is over. The next forecast says whether another one is worth while.',
    nothing: 'Nothing a look could show would change the night. Leave him in peace.', notWorth: 'A look before the night would gain less than the disturbance costs. Leave him in peace.', noNight: 'No night is named, so a look has none to change.',
    log: 'Log a look',
  },
  turns: {
    title: 'What would change the night', at: (when: string, light: string) => `${when}, ${light}`, if: (found: string, chance: string, act: string) => `If ${found} (${chance}): ${act}.`,
    act: { same: 'catch him that night', other: (night: string) => `catch him on ${night}`, none: 'there is probably nothing left to catch him for' },
    found: {
      tails: { seen: 'tails are seen', perhaps: 'there are perhaps tails', none: 'no tails are seen' }, eggs: { orange: 'the eggs look orange', turning: 'the eggs are turning', silver: 'the eggs look silver', none: 'no eggs are seen' },
      mouth: { full: 'his throat is full', smaller: 'his throat is smaller', normal: 'his mouth is normal' }, food: { ate: 'he eats', spat: 'he spits the food', ignored: 'he ignores the food' },
      loose_fry: { seen: 'loose young are seen', none: 'no loose young are seen' }, clutch: { there: 'the clutch is there', gone: 'the clutch is gone' },
    } as Readonly<Record<string, Readonly<Record<string, string>>>>,
    all: 'The looks after that',
  },
  plans: {
    title: 'Net him, or move him ahead?', saved: 'Saves', risk: 'Risk', people: 'People', of: 'of 100',
    names: { net: 'Net him on the night', ahead: 'Move him ahead' }, when: (day: string, hour: string) => `${day}, ${hour}`,
    how: {
      net: 'Some tries fail; trying again on the next night is counted in, and what it costs him to be caught over eggs.',
      ahead: 'Into a tank of his own, in a submerged dark box. There he sits alone until he lets them go, and is taken out within a day after.',
    },
    riskWords: (percent: string) => `${percent} that it loses the brood`, aheadAlone: 'He sits alone already, so there is nowhere better to move him.', aheadLate: 'Moving him ahead is no plan any more: the evening for it would come after the night to catch.',
    first: 'He comes first: a thin or weak male is left where he is, whatever it costs the brood. A vet’s word comes before this.', assumed: 'Reckoned with assumptions: how often the net gets him, and how often a move loses the brood.',
    best: 'saves most', same: 'as good',
  },
  away: {
    title: 'Away on some of these nights?', from: 'First night away', to: 'Last night away', earlier: 'One night earlier', later: 'One night later',
    untouched: (night: string) => `The night to catch, ${night}, lies outside these nights. Nothing need change.`, none: 'There is no night to catch, so nothing has to be arranged.',
    names: { catch: (night: string) => `Catch him on ${night}`, ahead: (night: string) => `Move him ahead on ${night}`, hand_over: (night: string) => `Hand over: somebody else catches him on ${night}`, accept: () => 'Accept: leave it to him' } as const,
    how: { catch: 'The best of the nights when you are here.', ahead: 'He then sits alone; somebody still has to look in daily, and take him out within a day after he lets them go.', hand_over: 'Show them the place, the net and the lamp beforehand, and write down whom to call.', accept: 'He lets them go among the others, and few are found. He is spared the net.' },
    within: 'That evening lies within the nights away too: somebody else would have to do it.', saves: (n: number) => `about ${n} of 100`, unknown: 'not known that far ahead',
    first: 'For him the quietest choice is the best one: no move and no net for a male who is thin or weak.',
  },
  together: {
    title: 'One night for both?', text: (one: string, other: string, night: string, cost: string) => `${one} and ${other} could both be caught on ${night}. ${cost}`, due: (one: string, other: string, night: string) => `${one} and ${other} are both due on ${night}: one evening, one pair of wet hands.`,
    costs: (n: number) => (n < 1 ? 'That costs hardly anything.' : `That costs about ${n} in 100 in all.`), row: (time: string, name: string, own: string) => `${time} ${name}${own}`, moved: (night: string) => ` (on his own: ${night})`, each: 'Nets and nurseries apart: not from one brood into the other.',
  },
  back: {
    title: 'How the forecast developed', slider: 'Forecast', of: (n: number, all: number) => `${n} of ${all}`, first: 'First', earlier: 'Earlier', later: 'Later', last: 'Newest', issued: (when: string) => `Issued ${when}`,
    hatch: 'Hatching', release: 'First young out', none: 'none', saves: (n: number) => `saves about ${n} of 100`, likely: (day: string, from: string, to: string) => `${day}, eight times in ten ${from} to ${to}`, chances: 'Chances then',
    chart: (n: number, from: string, to: string) => `${counted(n, 'forecast', 'forecasts')}: hatching was first put at ${from}, and last at ${to}.`, night: (title: string, from: string, to: string) => `${title}: first ${from}, last ${to}.`, sameNight: (title: string, night: string) => `${title}: ${night} from the first to the last.`,
    only: 'One forecast has been issued, so there is nothing to play back.', how: 'Band: hatching, eight times in ten; stroke in it: the likeliest. Dashed: the night named. Upright: the forecast shown.', table: 'As a table', when: 'Issued', saved: 'Saves', less: 'Forecasts that say the same as the one before are left out.',
  },
  rests: {
    title: 'What it rests on', loading: 'Each assumption is put to the ends of its range. This takes a few seconds…', none: 'The night does not depend on any single assumption.', noNight: 'No night is named now, and no single assumption would bring one.',
    some: (n: number, night: string) => (n === 1 ? `One assumption could make it another night than ${night}:` : `${first(number(n))} assumptions could each make it another night than ${night}:`), someNone: 'These assumptions could each bring a night to catch:',
    value: (value: string, low: string, high: string) => `Taken as ${value}; it may be ${low} to ${high}.`, ends: (low: string, atLow: string, high: string, atHigh: string) => `At ${low}: ${atLow}. At ${high}: ${atHigh}.`, noneAt: 'no night', source: (source: string) => `Source: ${source}.`,
    assumed: 'nobody has published it; it is our assumption',
    together: (names: string) => `His water is taken to be as warm as the mean of its thermometers: ${names}. That they stand in the same water is assumed too.`,
    measure: {
      share: (n: number) => `${few(n * 100)} %`, days, hours: (n: number) => `${few(n)} h`, per_day: (n: number) => `${few(n * 100)} % a day`, per_ten_degrees: (n: number, warmer: string) => `${few(n)} times as fast ${warmer} warmer`, degrees: (n: number, unit: string) => `± ${few(n)} ${unit}`, spread: (n: number) => `± ${few((Math.exp(n) - 1) * 100)} %`,
    },
  },
  mend: {
    title: 'One look does not fit', text: (when: string, what: string) => `The look ${when} (${what}) hardly fits the others: going by them, anything so unlikely comes less than once in a thousand looks. It is not averaged away; until it is settled the forecast is less sure than it seems.`,
    ways: 'One of these settles it:', correct: 'It was a slip, or another male: correct it', recalled: 'It was filled in from memory', recalledSaid: 'Kept as filled in from memory', again: 'It was so: look once more in good light',
    lost: { two: 'Nothing is called off before two looks, half a day apart and one of them in white light, agree.', log: 'Look once more', say: 'Say that he lost them' },
    long: {
      title: 'He holds longer than expected', text: (day: string) => `By the forecast they had hatched by ${day} at the latest. The longest that young are known to stay in the mouth is about ten days (Vagelli 1999), and still he looks full.`,
      list: ['Look once more in white light, from a step away: a full throat and a full belly are easily mixed up.', 'He may hold a second clutch, taken up soon after the first, or food.', 'Never force his mouth, and never fish in it. If he is thin, or breathes hard, ask a vet who knows fish before anything else.'],
      second: 'If it is a second clutch, say that this brood is over and begin a new watch.',
    },
  },
};
