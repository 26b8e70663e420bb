/** How two copies of a record become one: field by field, the later stamp wins. Commutative, associative, idempotent. */
import { canonical, compareText, type Json } from './json';
import type { Stamp } from './stamps';

export interface StampedField {
  value: Json;
  stamp: Stamp;
}
export type StampedFields = Record<string, StampedField>;

/** Whether `field` replaces `other`: the later stamp; of equal stamps (a broken device) the greater canonical JSON. */
export function wins(field: StampedField, other: StampedField): boolean {
  if (field.stamp !== other.stamp) return field.stamp > other.stamp;
  return compareText(canonical(field.value), canonical(other.value)) > 0;
}

/** Both copies' fields, each with the value that wins; only value and stamp are kept. */
export function merge(one: StampedFields, other: StampedFields): StampedFields {
  const merged = { ...one };
  for (const [name, field] of Object.entries(other)) {
    const held = Object.hasOwn(merged, name) ? merged[name] : undefined;
    if (held === undefined || wins(field, held)) merged[name] = { value: field.value, stamp: field.stamp };
  }
  return merged;
}
