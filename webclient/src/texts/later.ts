/** The second half of the catalogue in force, loaded with the pages that show it. */
export { later } from './en/later';
