/** What to look for, each sign by its drawing, for each way in which the young leave their father. */
import { AT_HATCHING, IN_THE_MOUTH, NEST, type Way } from '../../domain/ways';

type Signs = readonly (readonly [drawing: string, words: string])[];

const ofTheMouth: Signs = [
  ['slack jaw', 'Slack jaw: the throat hangs empty. He has let them go or lost them.'],
  ['hollow belly', 'Hollow belly: he is thin behind the gills. A weak male comes before the brood: feed him, rest him.'],
];
const ofTheNest: Signs = [
  ['eggs orange', 'Orange: the clutch is young.'],
  ['eggs silver', 'Silver, with eyes: it hatches within about a day.'],
  ['clutch gone', 'Bare stone before its day: eaten or gone bad. First clutches often are, and it is no fault of yours.'],
];

export const signs: Readonly<Record<Way, Signs>> = { [IN_THE_MOUTH]: ofTheMouth, [AT_HATCHING]: ofTheMouth, [NEST]: ofTheNest };
