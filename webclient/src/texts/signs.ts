/** The signs to look for in the catalogue in force, loaded when they are asked for. */
export { signs } from './en/signs';
