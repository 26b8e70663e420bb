/** Which duties of a batch the records on this phone answer, so that a row is done before the server has heard of it. */
import type { Amount, DutyTold } from './duties';

/** A record of a batch, as far as it matters here. */
export interface Logged {
  readonly kind: string;
  readonly fields: Readonly<Record<string, unknown>>;
  /** It is not on the server yet. */
  readonly waiting: boolean;
}

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;
/** So long after it was written the plan that knows a record may still be on its way. */
const FRESH_MS = 3 * 60_000;

/** A duty as far as it matters here. */
type Asked = DutyTold & { readonly amount?: Amount | null; readonly night?: string | null };

interface Rule {
  readonly duties: readonly string[];
  /** Of these fields the record must say at least one: an emptied record answers nothing. */
  readonly says: readonly string[];
}
const RULES: Readonly<Record<string, Rule>> = {
  feeding: { duties: ['feed_fry'], says: ['belly', 'took'] },
  culture: { duties: ['start_food'], says: ['food_id', 'sort', 'grams', 'litres'] },
  water_test: { duties: ['test_water'], says: ['ammonia_mg_l'] },
  water_change: { duties: ['change_water', 'ammonia_high'], says: ['litres'] },
  count: { duties: ['count_fry'], says: ['alive'] },
};

/** From when on something done counts for a duty, as the server plans it; until when is the duty's own word. */
const SINCE: Readonly<Record<string, (duty: DutyTold, untilMs: number) => number>> = {
  // Of the day, from one lamps-out to the next.
  test_water: (_, untilMs) => untilMs - DAY_MS,
  change_water: (_, untilMs) => untilMs - DAY_MS,
  ammonia_high: ({ due_at }) => Date.parse(due_at),
  count_fry: ({ due_at }) => Date.parse(due_at) - 2 * DAY_MS,
};
const USUALLY_BEFORE_MS = 12 * HOUR_MS;
/** Whoever feeds so soon after lamps-out is late with the last meal, and not early with tomorrow's. */
const LATE_AT_NIGHT_MS = 2 * HOUR_MS;

/** The kinds of records that answer a duty. */
export const ANSWERING = Object.keys(RULES);

/** Whether a duty is about young in their nursery vessel, or their food. */
export function isOfYoung({ kind }: Pick<DutyTold, 'kind'>): boolean {
  return Object.values(RULES).some((rule) => rule.duties.includes(kind));
}

/** Whether a record says anything: one that a helper took out is emptied instead. */
export function saysIt(record: Pick<Logged, 'kind' | 'fields'>, names: readonly string[] = RULES[record.kind]?.says ?? []): boolean {
  return names.some((name) => (record.fields[name] ?? null) !== null);
}

function atMs(record: Logged): number {
  return Date.parse(String(record.fields['at']));
}

function untilMs(duty: DutyTold): number {
  return duty.until_at === null ? Date.parse(duty.due_at) + DAY_MS : Date.parse(duty.until_at);
}

/** A meal's share of the day begins where that of the meal before it ends, that of the first one some time into the night. */
function sinceMs(duty: Asked, duties: readonly Asked[]): number {
  const own = SINCE[duty.kind];
  if (own) return own(duty, untilMs(duty));
  const meals = duty.kind === 'feed_fry' ? duties.filter((other) => other.kind === 'feed_fry') : [];
  const before = meals.map(untilMs).filter((end) => end <= Date.parse(duty.due_at));
  const lampsOut = Math.max(...meals.filter((meal) => meal.night === duty.night).map(untilMs)) - DAY_MS;
  return Math.max(Date.parse(duty.due_at) - USUALLY_BEFORE_MS, lampsOut + LATE_AT_NIGHT_MS, ...before);
}

function answers(record: Logged, duty: Asked, duties: readonly Asked[]): boolean {
  const at = atMs(record);
  const isItsSort = duty.kind !== 'start_food' || (record.fields['sort'] ?? 'brine_shrimp') === 'brine_shrimp';
  return RULES[record.kind]?.duties.includes(duty.kind) === true && isItsSort && saysIt(record) && at >= sinceMs(duty, duties) && at < untilMs(duty);
}

/** A change of water that comes as near as this to what was asked for is enough, as on the server. */
const NEAR_ENOUGH = 0.8;

/** The record with which a duty is done: the first that answers it, or of water the one that makes it enough. */
function doing(duty: Asked, duties: readonly Asked[], records: readonly Logged[], vessel: number | null, isFresh: (record: Logged) => boolean): Logged | undefined {
  const wanted = duty.amount?.unit === 'L' && vessel ? ((duty.amount.quantity ?? 0) / vessel) * NEAR_ENOUGH : 0;
  let left = 1;
  return records.filter((record) => answers(record, duty, duties)).find((record) => {
    left *= 1 - Math.min(1, Number(record.fields['litres'] ?? 0) / (vessel ?? Infinity));
    return 1 - left >= wanted && isFresh(record);
  });
}

/**
 * The duties with what this phone's own records answer taken as done. What the server has known for a while, it has judged.
 * `vessel` are the litres of the batch, of which changes of water take shares; where nobody said, any change is enough.
 */
export function withAnswers<D extends Asked>(duties: readonly D[], records: readonly Logged[], now: Date, vessel: number | null = null): D[] {
  const inOrder = [...records].sort((a, b) => atMs(a) - atMs(b));
  const isFresh = (record: Logged): boolean => record.waiting || Math.abs(now.getTime() - atMs(record)) < FRESH_MS;
  const done = new Map<string, Logged>();
  for (const duty of [...duties].sort((a, b) => (a.due_at < b.due_at ? -1 : 1))) {
    // What was set going is for one day's food.
    const free = inOrder.filter((record) => record.kind !== 'culture' || ![...done.values()].includes(record));
    const one = duty.done_at === null ? doing(duty, duties, free, vessel, isFresh) : undefined;
    if (one) done.set(duty.key, one);
  }
  return duties.map((duty) => {
    const one = done.get(duty.key);
    return one ? { ...duty, done_at: new Date(atMs(one)).toISOString() } : duty;
  });
}
