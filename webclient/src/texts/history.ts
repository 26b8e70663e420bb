/** The part of the catalogue in force that speaks of what was changed, loaded where it is shown. */
export { history } from './en/history';
