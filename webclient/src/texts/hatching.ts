/** The catalogue in force as the males of the other two ways have it, loaded when one of them is held. */
export { hatching } from './en/hatching';
