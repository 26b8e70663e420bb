/** What the page of a brood says, for each way in which the young leave their father. */
import { AT_HATCHING, IN_THE_MOUTH, NEST, type Way } from '../../domain/ways';
import { brood } from './brood';

const atHatching: typeof brood = {
  ...brood,
  nights: {
    ...brood.nights,
    how: 'Saved: of 100 young where that night is taken as the hatch night, and below how many fewer than on the best. The other numbers are the chances, in %, at the end of that night.',
    text: (best: string, saved: number) => `Being ready ${best} saves the most: about ${saved} of 100.`,
    beyond: (night: string) => `The hatch night, ${night}, comes after these.`, none: 'On none of the coming nights is much left to hatch.',
  },
  story: { ...brood.story, flag: 'hatch' },
  happened: {
    ...brood.happened,
    names: { ...brood.happened.names, released: 'They hatched', lost: 'The clutch was lost', mistake: 'There was no clutch' },
    text: { ...brood.happened.text, released: 'How many larvae were collected and kept?', lost: 'It happens, most of all to first clutches, and it is no fault of yours.' },
  },
  ended: { ...brood.ended, released: 'Hatched', mistake: 'No clutch' },
  marks: {
    ...brood.marks,
    names: { loose_fry_handled: 'Larvae made safe' },
    duties: { ...brood.marks.duties, catch: 'Move him', loose: 'Larvae in the water' },
  },
};

const nest: typeof brood = {
  ...atHatching,
  beginning: { ...brood.beginning, title: 'Clutch laid' },
  marks: { ...atHatching.marks, duties: { ...atHatching.marks.duties, catch: 'Collect the larvae', lost: 'See whether the clutch is there' } },
  cautions: {
    ...brood.cautions,
    list: [
      'From lamps-out a nest needs full darkness to hatch: no lamp, not even red, no phone at the glass. Clownfish bite: move the hand slowly, or wear a glove.',
      ...brood.cautions.list,
    ],
  },
};

export const broods: Readonly<Record<Way, typeof brood>> = { [IN_THE_MOUTH]: brood, [AT_HATCHING]: atHatching, [NEST]: nest };
