/** What the first page does without, loaded in one go when it stands: agreeing, what needs attention, who comes and goes. */
export { apart, attention, exportAll, exportUnsynced, kindsHeld, lettingGo, mend } from './attention';
export { refuseBatch, takeAnswer } from './incoming';
export { choose, clearPhone, enter, leave, meet, members, noteOut, strand } from './membership';
export { nextBatch, turns } from './outgoing';
export { writings } from './writings';
