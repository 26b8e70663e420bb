/** The second half of the catalogue: the pages that are loaded when they are asked for. */
import { access } from './access';
import { brood } from './brood';
import { broods } from './broodways';
import { household } from './household';
import { password } from './password';

export const later = { access, brood, /** The same for each way of breeding. */ broods, household, password };
