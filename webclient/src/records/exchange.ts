/** What goes up and comes down in one round trip, in the server's own types. */
import type { components } from './api';
import type { StampedFields } from './merge';

type Schemas = components['schemas'];

export type Push = Schemas['Push'];
export type Change = Schemas['Change'];
export type Said = Schemas['Answer'];
/** An answer with nothing left out but the database's id, where the phone knows it, and where the cursor will come to. */
export type Answer = Required<Omit<Said, 'database' | 'upto' | 'verdicts'>> & Pick<Said, 'database' | 'upto'> & { verdicts: Verdict[] };
export type Verdict = Required<Schemas['Verdict']>;
export type Derived = Schemas['Derived'];
/** A record as it comes down: with `fields` from a server of schema 1, with `values` and their stamps from a newer one. */
export type SaidRow = Schemas['Row'];
/** A record as it comes down, with each stamp beside its value. */
export type Row = Omit<SaidRow, 'fields' | 'values' | 'stamp' | 'stamps' | 'concurrent'> & { fields: StampedFields; concurrent: string[] };

export const CHANGES_LIMIT = 500;
/** The server takes 512 KiB after decompression; what is left is room for the envelope. */
export const CHANGES_BYTES = 508 * 1024;
