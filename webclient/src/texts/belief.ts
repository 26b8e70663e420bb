/** The third part of the catalogue in force: what is believed of a brood, and why. */
export { belief } from './en/belief';
export { beliefs } from './en/beliefways';
