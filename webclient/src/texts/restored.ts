/** The part of the catalogue in force that speaks of a server that was set back, loaded where it is shown. */
export { restored } from './en/restored';
