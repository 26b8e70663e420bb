/** What the page of a brood says, for each way in which the young leave their father. */
import { AT_HATCHING, IN_THE_MOUTH, NEST, type Way } from '../../domain/ways';
import { brood, wetFloor } from './brood';

const atHatching: typeof brood = {
  ...brood,
  nights: {
    ...brood.nights,
    how: 'Saved: of 100 young where that night is taken as the hatch night, and below how many fewer than on the best. The other numbers are the chances, in %, at the end of that night.',
    text: (best: string, saved: number) => `Being ready ${best} saves the most: about ${saved} of 100.`,
    beyond: (night: string) => `The hatch night, ${night}, comes after these.`, none: 'On none of the coming nights is much left to hatch.',
  },
  story: { ...brood.story, flag: 'hatch', lane: { ...brood.story.lane, loose_fry: 'Larvae' } },
  why: { ...brood.why, withdrawn: (from: string) => `${from} is withdrawn: they have probably hatched, or are lost.` },
  looks: { ...brood.looks, parts: { ...brood.looks.parts, loose_fry: 'larvae' } },
  happened: {
    ...brood.happened,
    names: { ...brood.happened.names, released: 'They hatched' },
    text: { ...brood.happened.text, released: 'How many larvae were collected and kept?' },
    counts: { ...brood.happened.counts, kept: 'Larvae kept' },
  },
  ended: { ...brood.ended, released: 'Hatched', keptUnit: 'larvae kept' },
  marks: {
    ...brood.marks,
    names: { loose_fry_handled: 'Larvae made safe' },
    kept: (n: number) => `${n} larvae kept`,
    duties: { ...brood.marks.duties, catch: 'Move him', loose: 'Larvae in the water' },
  },
};

const nest: typeof brood = {
  ...atHatching,
  looks: {
    ...atHatching.looks,
    leftOut: { ...brood.looks.leftOut, before: (day: string) => `Not used: it lies before ${day}, and until then there surely was no clutch. Correct its time, or` },
    toBeginning: 'when the clutch was laid',
  },
  correct: { ...brood.correct, before: (day: string) => `Before ${day} there surely was no clutch, so the household would not take it. Choose a later time or another male, or correct when the clutch was laid.` },
  beginning: { ...brood.beginning, title: 'Clutch laid' },
  happened: {
    ...atHatching.happened,
    names: { ...atHatching.happened.names, lost: 'The clutch was lost', mistake: 'There was no clutch' },
    text: { ...atHatching.happened.text, lost: 'It happens, most of all to first clutches, and it is no fault of yours.' },
  },
  ended: { ...atHatching.ended, mistake: 'No clutch' },
  marks: { ...atHatching.marks, duties: { ...atHatching.marks.duties, catch: 'Collect the larvae', lost: 'See whether the clutch is there' } },
  cautions: {
    ...brood.cautions,
    list: [
      'From lamps-out a nest needs full darkness to hatch: no lamp, not even red, no phone at the glass. Clownfish bite: move the hand slowly, or wear a glove.',
      ...brood.cautions.list.map((line) => (line === wetFloor ? 'A wet floor in a dark room: a towel down, a clear way, somebody beside you.' : line)),
    ],
  },
};

export const broods: Readonly<Record<Way, typeof brood>> = { [IN_THE_MOUTH]: brood, [AT_HATCHING]: atHatching, [NEST]: nest };
