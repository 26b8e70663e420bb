/** The part of the catalogue in force that speaks of mending, loaded where something is mended. */
export { mending } from './en/mending';
