/** The kinds of records that this client knows how to write, as the server's OpenAPI describes them. */
import type { components } from './api';
import type { Json } from './json';

export const SCHEMA_NUMBER = 5;

export const KINDS = ['tank', 'fish', 'brood', 'look', 'reading', 'trust', 'feeding', 'mark', 'photo', 'absence', 'rota', 'batch', 'food', 'culture', 'count', 'water_test', 'water_change'] as const;
export type Kind = (typeof KINDS)[number];

/** Values of a record's fields by name. */
export type Fields = Record<string, Json>;

/** Whether this client may write that kind; others are kept and exported as they came. */
export function isKnown(kind: string): kind is Kind {
  return (KINDS as readonly string[]).includes(kind);
}

/** The fields of one kind, from the server's own list. */
export type FieldsOf<K extends Kind> = components['schemas'][Capitalize<K>];
