/** What the fields of a record were before: the server's word and what waits on this phone, made one. Pure. */
import { wins } from '../records/merge';
import { canonical } from '../records/json';
import { stampMs } from '../records/stamps';
import type { FieldWriting, Fields, Json, Rec } from '../store';
import type { RecordHistory, WritingTold } from '../sync/history';

/** A value that a field has or had, and who wrote it. */
export interface Writing {
  readonly value: Json;
  readonly stamp: string;
  readonly was: string | null | undefined;
  readonly by: string | null;
  readonly name: string | null;
  readonly phone: string | null;
  readonly waiting: boolean;
}
/** A value that another one replaced; `apart` where whoever wrote that one had not seen it. */
export interface Earlier extends Writing {
  readonly replacedBy: Writing;
  readonly apart: boolean;
}
/** A field: what stands, and what stood there before, the latest first. */
export interface FieldPast {
  readonly name: string;
  readonly stands: Writing;
  readonly earlier: readonly Earlier[];
}
/** A field that two people wrote apart, with what the others wrote; nothing of it while only the server knows. */
export interface Question {
  readonly past: FieldPast;
  readonly rivals: readonly Earlier[];
}

/** What is written together with another field, and so brought back with it: when it was, and how it ended. */
const FOLLOWING: Readonly<Record<string, readonly string[]>> = {
  at: ['at_error_min', 'at_phone', 'clock_doubtful'],
  ended: ['ended_at', 'kept'],
};
const FIRST_SHOWN: readonly string[] = ['name', 'alive', 'what', 'ended', 'ended_at', 'kept', 'not_before', 'not_after', 'at', 'about'];
const DEVICE_LENGTH = 8;

/** The device that a stamp was made on. */
export function deviceOf({ stamp }: Writing): string {
  return stamp.slice(-DEVICE_LENGTH);
}

/** When it was written, by its stamp. */
export function writtenAt({ stamp }: Writing): Date {
  return new Date(stampMs(stamp));
}

/** Every field of a record with all the values that are known of it; `told` is the server's word, as far as it has come. */
export function pastsOf(told: RecordHistory | undefined, own: readonly FieldWriting[]): FieldPast[] {
  const names = new Set([...(told?.fields ?? []).map((field) => field.name), ...own.map((writing) => writing.field)]);
  const pasts = [...names].map((name) => pastOf(name, told?.fields.find((field) => field.name === name), own.filter((writing) => writing.field === name)));
  const place = (name: string): number => (FIRST_SHOWN.includes(name) ? FIRST_SHOWN.indexOf(name) : FIRST_SHOWN.length);
  return pasts.sort((a, b) => place(a.name) - place(b.name) || (a.name < b.name ? -1 : 1));
}

function pastOf(name: string, told: RecordHistory['fields'][number] | undefined, own: readonly FieldWriting[]): FieldPast {
  const known = new Map<string, Writing>();
  for (const writing of own) known.set(keyOf(writing), { ...writing, name: null, phone: null });
  // The server knows more of what both of them have.
  for (const writing of told ? [...told.earlier, told.stands] : []) known.set(keyOf(writing), toldOf(writing));
  const apart = new Set((told?.earlier ?? []).filter((one) => one.apart).map((one) => `${keyOf(one)} ${keyOf(one.replaced_by)}`));
  const [stands, ...earlier] = [...known.values()].sort((a, b) => (wins(a, b) ? -1 : 1));
  const replaced = earlier.map((writing, i): Earlier => {
    const replacedBy = (i === 0 ? stands : earlier[i - 1]) as Writing;
    return { ...writing, replacedBy, apart: apart.has(`${keyOf(writing)} ${keyOf(replacedBy)}`) || isBlind(replacedBy, writing) };
  });
  return { name, stands: stands as Writing, earlier: replaced };
}

function keyOf({ stamp, value }: { stamp: string; value: unknown }): string {
  return `${stamp} ${canonical(value as Json)}`;
}

function toldOf({ value, stamp, was, by, name, phone }: WritingTold): Writing {
  return { value: value as Json, stamp, was, by, name, phone, waiting: false };
}

/** Whether the later of two cannot have known of the earlier one, where one of them has not gone up; the server judges
 * of the rest, by the same rule. */
function isBlind(later: Writing, earlier: Writing): boolean {
  if (deviceOf(later) === deviceOf(earlier)) return false;
  // What came down over a writing that still waits here was written elsewhere, where nobody could know of it.
  if (earlier.waiting) return true;
  return later.waiting && later.was !== undefined && (later.was === null || later.was < earlier.stamp);
}

/** The names of the fields that two people wrote apart; what follows on another one is asked with that. */
export function askedOf({ concurrent }: Pick<Rec, 'concurrent'>): string[] {
  const following = concurrent.flatMap((name) => FOLLOWING[name] ?? []);
  return concurrent.filter((name) => !following.includes(name));
}

/** The fields that two people wrote apart and nobody has settled. */
export function questionsOf(record: Pick<Rec, 'concurrent'>, pasts: readonly FieldPast[]): Question[] {
  const asked = askedOf(record);
  return pasts.filter((past) => asked.includes(past.name)).map((past) => ({ past, rivals: rivalsOf(past) }));
}

/** What was written apart last: on the device that wrote the last one it may lie below what that wrote itself. */
function rivalsOf({ earlier }: FieldPast): Earlier[] {
  const first = earlier.findIndex((one) => one.apart);
  const after = first === -1 ? -1 : earlier.findIndex((one, i) => i > first && !one.apart);
  return first === -1 ? [] : earlier.slice(first, after === -1 ? undefined : after);
}

/** What there is to tell of each field's past: without what was only replaced along with the field that it follows. */
export function changesOf(pasts: readonly FieldPast[]): FieldPast[] {
  return pasts.map((past) => ({ ...past, earlier: past.earlier.filter((one) => !isAlong(past.name, one, pasts)) })).filter((past) => past.earlier.length > 0);
}

function isAlong(name: string, { replacedBy }: Earlier, pasts: readonly FieldPast[]): boolean {
  const leading = Object.keys(FOLLOWING).filter((lead) => FOLLOWING[lead]?.includes(name));
  return pasts.some((past) => leading.includes(past.name) && past.earlier.some((one) => one.replacedBy.stamp === replacedBy.stamp));
}

/** What is to be written so that this value stands again, with what followed on it as it was then. */
export function fieldsAsOf(past: FieldPast, { value, stamp }: Writing, pasts: readonly FieldPast[]): Fields {
  const following = pasts.filter((one) => FOLLOWING[past.name]?.includes(one.name));
  return { [past.name]: value, ...Object.fromEntries(following.map((one) => [one.name, valueAt(one, stamp)])) };
}

function valueAt({ stands, earlier }: FieldPast, stamp: string): Json {
  return [stands, ...earlier].find((one) => one.stamp <= stamp)?.value ?? null;
}

/** Two pages of a history as one. */
export function joinedRecords(one: readonly RecordHistory[], other: readonly RecordHistory[]): RecordHistory[] {
  const joined = new Map(one.map((record) => [record.id, record]));
  for (const record of other) {
    const held = joined.get(record.id);
    joined.set(record.id, held ? { ...held, fields: joinedFields(held.fields, record.fields) } : record);
  }
  return [...joined.values()];
}

function joinedFields(one: RecordHistory['fields'], other: RecordHistory['fields']): RecordHistory['fields'] {
  const more = (name: string) => other.find((field) => field.name === name)?.earlier ?? [];
  const known = one.map((field) => ({ ...field, earlier: [...field.earlier, ...more(field.name)] }));
  return [...known, ...other.filter((field) => !one.some((held) => held.name === field.name))];
}
