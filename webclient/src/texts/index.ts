/** The catalogue in force; pages and parts read it from here, so that a translation touches no code. */
import { en } from './en';

export const texts = en;
