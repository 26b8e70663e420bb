/** Texts of Tonight: the cards of the males, the duties, and what to do when nothing is known. */
import { counted } from './frame';

/** How a duty is done, and what not to do. */
export interface DutyHow {
  readonly text: string;
  readonly not: string;
}
/** A kind of duty: its title, and how it is done where that differs from what every such duty says (`duties.how`). */
export interface DutyKind extends Partial<DutyHow> {
  readonly title: string;
}

export const tonight = {
  title: 'Tonight',
  glance: {
    nothing: 'Nothing to do now',
    next: (name: string, night: string, time: string) => `Next catch: ${name}, ${night}, ${time}`,
    some: (n: number, what: string) => (n === 1 ? `One thing to do: ${what}` : `${counted(n, 'thing', 'things')} to do. First: ${what}`),
    catch: (name: string, time: string) => `Catch ${name} tonight, ${time}`,
    catchNow: (name: string) => `Catch ${name} now, under dim red light`,
    past: (name: string) => `The night to catch ${name} is over: see whether he still holds`,
    fry: 'Young are loose: act now',
  },
  duties: 'To do',
  day: 'Day',
  dayOf: (off: number) => (off < 1 ? 'of the hold' : `of the hold, ± ${off}`),
  fast: 'since he last ate',
  fastDays: (n: number) => (n === 1 ? 'day' : 'days'),
  fastUnknown: 'no meal logged',
  where: (tank: string, spot: string) => (spot ? `${tank}, ${spot}` : tank),
  hours: (place: string) => `Hours in ${place} time`,
  hoursHere: (zone: string) => `Hours of this device, which does not know the zone ${zone}`,
  lastLook: (when: string, what: string) => `Last look ${when}: ${what}`,
  noLook: 'No look yet',
  window: { hatch: 'Hatching', release: 'First young out' },
  catch: {
    title: 'Night to catch',
    why: (earlier: string | null, later: string | null) => `${[earlier, later].filter(Boolean).join(', ')}.`,
    earlier: (n: number) => (n > 0 ? `One night earlier costs ${n} in 100 (more are still eggs)` : 'One night earlier is as good'),
    later: (n: number) => (n > 0 ? `one night later ${n} (more are let go)` : 'one night later is as good'),
    laterOnly: (n: number) => (n > 0 ? `One night later costs ${n} in 100 (more are let go)` : 'One night later is as good'),
    saves: (n: number) => `Saves about ${n} in 100 of the clutch`,
    past: 'This night is over, and no newer forecast has come. See whether he still holds: with the look and a connection another night is named.',
    none: 'No night to catch: there is probably nothing left to save by catching him.',
    strip: 'Saved by catching on each of the coming nights',
    stripText: (best: string) => `Of the coming nights, ${best} saves the most.`,
    moved: (from: string, to: string, why: string) => `Moved from ${from} to ${to}: ${why}`,
    /** What is done for that night, where the title does not say it. */
    act: (_isTonight: boolean): string => '',
    rough: 'This forecast is rough: few chances fit the looks.',
  },
  stillFull: 'Still full',
  ate: 'Ate',
  open: (name: string) => `The whole brood of ${name}`,
  story: 'Whole story',
  look: (name: string) => `Look at ${name}`,
  saved: { full: (name: string) => `${name} still full`, ate: (name: string) => `${name} ate` },
  ageOld: (when: string) => `Forecast of ${when}, carried on to this hour`,
  ageOffline: (when: string) => `No connection. Forecast of ${when}, carried on to this hour`,
  ageBehind: (n: number) => `${counted(n, 'newer look is', 'newer looks are')} not in it yet.`,
  byThen: 'By the last one:',
  nextLook: {
    text: (when: string, light: string, part: string) => `Next look ${when}, ${light}. It tells most by ${part}`,
    now: 'now', byDay: 'at the feeding, by day light', underRed: 'under dim red light',
    parts: { mouth: 'his mouth', clutch: 'the clutch', eggs: 'the colour of the eggs', tails: 'tails between his lips', food: 'whether he eats', loose_fry: 'loose young' },
  },
  noForecast: 'This device has no forecast yet; with a connection it comes within a minute. Looks are kept.',
  tooOld: 'The forecast on this device is over two weeks old and says nothing about today. Looks are kept.',
  badForecast: (why: string) => `No forecast: ${why}`,
  conflict: {
    title: 'One look does not fit',
    text: (when: string, what: string) => `The look ${when} (${what}) hardly fits the others.`,
    todo: 'Look again in good light, or correct it if it was a slip.',
    open: 'See that look',
  },
  lost: {
    title: 'The clutch may be lost',
    text: 'It happens to many males, most of all on their first hold, and it is no fault of yours. Look once more in white light before you give up; if he is empty, feed him well and let him rest about a month.',
  },
  fry: {
    title: 'Young are loose. At once:',
    steps: [
      'Pumps off, or guard the intakes. Remember to switch them back on.',
      'Dim the light. Move slowly.',
      'Scoop the young with a cup, not a net.',
      'He may still hold the rest: leave him be, and look into it afterwards.',
    ],
    seen: (who: string, when: string) => `Loose young seen with ${who}, ${when}`,
    seenUnsure: (tank: string, males: readonly string[], when: string) => `Loose young seen in ${tank}, ${when}. Perhaps from ${males.join(' or ')}`,
    done: 'They are safe',
    mains: 'Hands wet? Unplug at the wall before hands go in.',
  },
  duty: {
    // Duties of one way only are with its own words; here stand those of the first way and of every way.
    kinds: {
      look_tonight: { title: 'Look tonight' }, look_by_day: { title: 'Look at the feeding' }, window_opens: { title: 'Set up the nursery' }, first_food: { title: 'Start the first food' },
      catch_tonight: { title: 'Catch tonight under dim red light' }, fry_loose: { title: 'Young are loose' }, may_be_lost: { title: 'See whether he still holds' },
      too_warm: { title: 'The water is too warm' }, too_cold: { title: 'The water is too cold' },
    } as Readonly<Record<string, DutyKind>>,
    other: { title: 'Something to do' } as DutyKind,
    /** What a duty is called before its evening. */
    ahead: { look_tonight: 'Look', look_by_day: 'Look at the feeding', catch_tonight: 'Catch under dim red light' } as Readonly<Record<string, string>>,
    late: 'due now',
    show: 'Show', hide: 'Fold', showLong: 'Show what is to do', hideLong: 'Fold what is to do',
    claim: 'I’ll do it',
    done: 'Done',
    taken: (who: string) => `${who} does it`,
    takenFirst: (who: string) => `${who} took it first and does it`,
    takenMe: (others: string) => (others ? `Yours: you took it before ${others}` : 'Yours'),
    putOff: (time: string) => `You put it off until ${time}`,
    skipped: (who: string | null, why: string | null) => `Left out by ${who ?? 'you'}${why ? `: ${why}` : ''}`,
    doneBy: (who: string, when: string) => `Done by ${who}, ${when}`,
    doneAlone: (when: string) => `Done, ${when}`,
    doneMe: (when: string) => `You did it, ${when}`,
    forMale: (name: string, tank: string) => [name, tank].filter(Boolean).join(' · '),
    somebody: 'Somebody',
  },
  unsure: {
    title: (tank: string) => `Whose look was it? (${tank})`,
    text: (when: string, what: string) => `${when}: ${what}. It counts as soon as it is settled.`,
  },
  noteLater: { title: 'A note is waiting', text: (when: string, what: string) => `Look ${when}: ${what}`, write: 'Write it now' },
  empty: {
    title: 'No brood under way',
    text: 'When a throat is full and he will not eat, or a clutch lies in the nest, say so here, and the watch begins.',
    start: 'Begin a watch',
  },
  first: {
    title: 'Nothing is set up yet',
    text: 'Three things start the watch: a name, a tank with its lamp times, a male.',
    start: 'Begin',
  },
};
