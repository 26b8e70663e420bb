/**
 * Which records tell of one event that two people logged, or one by a double tap. They are shown as one and counted once;
 * each of them stays, and a word on a record (`separate`) says that it is an event of its own. The same rules as the
 * server's `domain/twice.py`; both run on `tests/twice_vectors.json`. All spans are common practice, no source.
 */
import { instantMs } from '../records/instants';

/** A record as far as it matters here. */
export interface Written {
  readonly id: string;
  readonly kind: string;
  readonly author: string;
  readonly device: string;
  readonly fields: Readonly<Record<string, unknown>>;
}

interface Rule {
  /** So far apart two people may log one event. */
  readonly spanMin: number;
  /** What must be the same where both say it. */
  readonly alike: readonly string[];
  /** The same, and of these both must say at least one: a look at his mouth and one at the eggs are two. */
  readonly findings: readonly string[];
}

const MINUTE_MS = 60_000;
const RULES: Readonly<Record<string, Rule>> = {
  look: { spanMin: 60, alike: ['light', 'recalled'], findings: ['mouth', 'eggs', 'tails', 'food', 'loose_fry', 'clutch'] },
  feeding: { spanMin: 60, alike: ['took', 'belly'], findings: [] },
  count: { spanMin: 60, alike: [], findings: ['alive', 'dead'] },
  water_change: { spanMin: 60, alike: ['litres'], findings: [] },
  reading: { spanMin: 30, alike: [], findings: ['temperature_c'] },
  // A spawning goes on for hours, and a catch takes its time.
  mark: { spanMin: 180, alike: ['what', 'eggs', 'yolk', 'free'], findings: [] },
};
/** What is said of a duty is everybody's own word, and no event. */
const EVENTS: readonly unknown[] = ['spawning', 'courtship', 'caught', 'loose_fry_handled'];
/** What one person logs twice on one phone within this time, the same in all, was a double tap. */
const DOUBLE_TAP_MS = MINUTE_MS;
/** A time may be as far off as was said, and is taken to be at most so far off. */
const ERROR_UP_TO_MIN = 90;
/** A step of a thermometer, °C. */
const AS_WARM = 0.1;
const LONGEST_MS = (180 + ERROR_UP_TO_MIN) * MINUTE_MS;

interface Noted<R extends Written> {
  readonly record: R;
  readonly about: string;
  readonly atMs: number;
}

/**
 * The records as events in the order of time, each with all that tell of it, the first first. `subjectOf` is what a record
 * counts as being about: a feeding may name the male or his brood.
 */
export function events<R extends Written>(records: readonly R[], subjectOf: (record: R) => unknown = (record) => record.fields['about']): R[][] {
  const noted = records.map((record) => ({ record, about: String(subjectOf(record) ?? ''), atMs: instantMs(record.fields['at']) ?? 0 }));
  noted.sort((a, b) => a.atMs - b.atMs || (a.record.id < b.record.id ? -1 : 1));
  const groups: Noted<R>[][] = [];
  for (const one of noted) {
    const group = recent(groups, one.atMs).find((members) => members.every((other) => isSame(other, one)));
    if (group) group.push(one);
    else groups.push([one]);
  }
  return groups.map((group) => group.map(({ record }) => record));
}

/** One record of each event: the first that tells of it. */
export function once<R extends Written>(records: readonly R[], subjectOf?: (record: R) => unknown): R[] {
  return events(records, subjectOf).map(([first]) => first as R);
}

/** The groups that something at that instant can still belong to, the oldest first. */
function recent<R extends Written>(groups: readonly Noted<R>[][], atMs: number): Noted<R>[][] {
  const from = groups.findLastIndex(([first]) => first !== undefined && atMs - first.atMs > LONGEST_MS);
  return groups.slice(from + 1);
}

function isSame<R extends Written>(one: Noted<R>, other: Noted<R>): boolean {
  const [a, b] = [one.record, other.record];
  const rule = RULES[a.kind];
  if (rule === undefined || a.kind !== b.kind || one.about === '' || one.about !== other.about) return false;
  if (!isEvent(a) || !isEvent(b)) return false;
  const apartMs = Math.abs(other.atMs - one.atMs);
  if (a.author === b.author && a.device === b.device) return apartMs <= DOUBLE_TAP_MS && isRepeated(a, b, rule);
  return apartMs <= (rule.spanMin + Math.max(errorMin(a), errorMin(b))) * MINUTE_MS && agree(a, b, rule);
}

function isEvent({ kind, fields }: Written): boolean {
  const isOwn = fields['separate'] === true || fields['gone'] === true || instantMs(fields['at']) === null;
  return !isOwn && (kind !== 'mark' || EVENTS.includes(fields['what']));
}

function errorMin({ fields }: Written): number {
  const said = fields['at_error_min'];
  return typeof said === 'number' ? Math.min(said, ERROR_UP_TO_MIN) : 0;
}

/** What a record says under that name; whether it was filled in afterwards every look says. */
function said({ fields }: Written, name: string): unknown {
  return name === 'recalled' ? fields[name] === true : (fields[name] ?? null);
}

function agree(a: Written, b: Written, { alike, findings }: Rule): boolean {
  const both = (name: string): boolean => said(a, name) !== null && said(b, name) !== null;
  const contradicts = [...alike, ...findings].some((name) => both(name) && !isAlike(said(a, name), said(b, name)));
  return !contradicts && (findings.length === 0 || findings.some(both));
}

function isRepeated(a: Written, b: Written, { alike, findings }: Rule): boolean {
  return [...alike, ...findings, 'note'].every((name) => said(a, name) === said(b, name));
}

function isAlike(one: unknown, other: unknown): boolean {
  // A tenth has no exact number, so that 26.2 - 26.1 is a little more than one.
  if (typeof one === 'number' && typeof other === 'number' && !Number.isInteger(one - other)) return Math.abs(one - other) <= AS_WARM + 1e-9;
  return one === other;
}
