/** The part of the catalogue in force that speaks of what several people do: on one phone, and of one event. */
export { shared } from './en/shared';
