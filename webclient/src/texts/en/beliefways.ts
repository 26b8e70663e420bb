/** What is believed of a brood, for each way in which the young leave their father. */
import { AT_HATCHING, IN_THE_MOUTH, NEST, type Way } from '../../domain/ways';
import { belief, number } from './belief';

const atHatching: typeof belief = {
  ...belief,
  next: { ...belief.next, lookFor: { ...belief.next.lookFor, loose_fry: 'Look for larvae in the water.' } },
  turns: {
    ...belief.turns,
    act: { same: 'that is the hatch night', other: (night: string) => `the hatch night is ${night}`, none: 'no hatch night is left' },
    found: { ...belief.turns.found, loose_fry: { seen: 'larvae are in the water', none: 'no larvae are in the water' } },
  },
};

const nest: typeof belief = {
  ...atHatching,
  learned: {
    ...belief.learned,
    early: (n: number) => `About one in ${number(n)} of his clutches may be lost in the first days, going by his own and by what is known of such fish. It is no fault of yours, nor a fault in him.`,
  },
  next: {
    ...atHatching.next,
    nothing: 'Nothing a look could show would change the night. Leave the nest in peace.', notWorth: 'A look before the night would gain less than the disturbance costs. Leave the nest in peace.',
    free: 'With the lamps on, from a step away, it costs the clutch nothing.',
  },
  mend: {
    ...belief.mend,
    again: 'It was so: look once more by day',
    lost: { ...belief.mend.lost, two: 'Nothing is called off before two looks by day, half a day apart, agree.', say: 'Say that the clutch was lost' },
  },
};

export const beliefs: Readonly<Record<Way, typeof belief>> = { [IN_THE_MOUTH]: belief, [AT_HATCHING]: atHatching, [NEST]: nest };
