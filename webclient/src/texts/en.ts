/** All texts of the client in English: a translation is another file of the same shape. */
import { access } from './en/access';
import { brood } from './en/brood';
import { frame } from './en/frame';
import { household } from './en/household';
import { look } from './en/look';
import { tonight } from './en/tonight';
import { states } from './en/states';

export const en = { access, brood, frame, household, look, states, tonight };
export type Texts = typeof en;
