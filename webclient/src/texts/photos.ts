/** The part of the catalogue in force that speaks of photos. */
export { photos } from './en/photos';
