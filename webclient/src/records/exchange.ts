/** What goes up and comes down in one round trip, in the server's own types. */
import type { components } from './api';
import type { StampedFields } from './merge';

type Schemas = components['schemas'];

export type Push = Schemas['Push'];
export type Change = Schemas['Change'];
export type Answer = Schemas['Answer'];
export type Verdict = Schemas['Verdict'];
export type Derived = Schemas['Derived'];
export type Row = Omit<Schemas['Row'], 'fields'> & { fields: StampedFields };

export const CHANGES_LIMIT = 500;
/** The server takes 512 KiB after decompression; what is left is room for the envelope. */
export const CHANGES_BYTES = 508 * 1024;
