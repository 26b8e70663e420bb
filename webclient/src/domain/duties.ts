/** Duties as this phone knows them: what came down, with the marks made here since laid over it. */
import type { Fields } from '../records/kinds';
import type { Stamp } from '../records/stamps';

/** A duty as it came down, as far as it is asked here. */
export interface DutyTold {
  readonly key: string;
  readonly kind: string;
  readonly due_at: string;
  readonly until_at: string | null;
  readonly taken_by: string | null;
  readonly done_at: string | null;
}

/** How much of it: grams or litres, and how often the house's own measure, as far as either is known. */
export interface Amount {
  readonly quantity: number | null;
  readonly unit: 'g' | 'L' | null;
  readonly measures: number | null;
  readonly measure: string | null;
}

/** What somebody said of a duty, as it was kept. */
export interface Mark {
  readonly author: string;
  /** Its stamp, by which marks sort as they were made, also where a clock was wrong. */
  readonly made?: Stamp | undefined;
  readonly fields: Readonly<Fields>;
}

/** What a person says of a duty. */
export type DutyMark = { readonly what: 'taken' | 'done' | 'handed_back' } | { readonly what: 'later'; readonly minutes: number } | { readonly what: 'skipped'; readonly note: string };

/** By so much one tap puts a duty off, where no other time can be chosen, in minutes. */
export const USUAL_DELAY_MIN = 30;

/** Who has a duty in hand, how it ended and who put it off, by person id. */
export interface DutyState {
  readonly takenBy: string | null;
  /** All who took it and did not hand it back, the first one first. */
  readonly claims: readonly string[];
  /** Who ended it, and when: did it, or else said that it need not be done. */
  readonly doneBy: string | null;
  readonly doneAt: string | null;
  readonly isSkipped: boolean;
  readonly why: string | null;
  /** Until when each put it off, as he said it last. */
  readonly putOff: ReadonlyMap<string, string>;
}

/** Whether a duty is about loose young: its alarm has its own place, and is no row among the others. */
export function isLooseYoung(duty: DutyTold): boolean {
  return duty.kind === 'fry_loose' || duty.kind === 'larvae_loose';
}

function textIn(mark: Mark | undefined, field: string): string | null {
  const value = mark?.fields[field];
  return typeof value === 'string' && value !== '' ? value : null;
}

/** Those who took it and did not hand it back, in the order in which they took it; the same rule as the server's. */
function claimsIn(own: readonly Mark[]): string[] {
  const standing = new Map<string, Mark>();
  for (const mark of own) {
    if (mark.fields['what'] === 'taken' && !standing.has(mark.author)) standing.set(mark.author, mark);
    if (mark.fields['what'] === 'handed_back') standing.delete(mark.author);
  }
  return own.filter((mark) => standing.get(mark.author) === mark).map((mark) => mark.author);
}

function putOffIn(own: readonly Mark[]): Map<string, string> {
  return new Map(own.flatMap((mark) => {
    const until = mark.fields['what'] === 'later' ? textIn(mark, 'until') : null;
    return until === null ? [] : [[mark.author, until] as const];
  }));
}

/** A duty's state: the marks of its key in the order of their stamps, or else what the server says. */
export function dutyState(duty: DutyTold, marks: readonly Mark[]): DutyState {
  const own = marks.filter((mark) => mark.fields['duty'] === duty.key).sort((a, b) => ((a.made ?? '') < (b.made ?? '') ? -1 : 1));
  const [claims, putOff] = [claimsIn(own), putOffIn(own)];
  const took = own.length === 0 ? duty.taken_by : (claims[0] ?? null);
  const first = (what: string) => own.find((mark) => mark.fields['what'] === what);
  // Loose young come again, so there an earlier *done* says nothing of a later sighting; the plan has judged that.
  const end = isLooseYoung(duty) ? undefined : (first('done') ?? first('skipped'));
  const isSkipped = end?.fields['what'] === 'skipped';
  const doneBy = end?.author ?? (own.length === 0 && duty.done_at ? took : null);
  return { takenBy: took, claims, doneBy, doneAt: textIn(end, 'at') ?? duty.done_at, isSkipped, why: isSkipped ? textIn(end, 'note') : null, putOff };
}

/** Until when that person put it off, where that is still to come. */
export function putOffUntil(state: DutyState, person: string | null, now: Date): Date | null {
  const until = state.putOff.get(person ?? '');
  return until !== undefined && Date.parse(until) > now.getTime() ? new Date(until) : null;
}

const MINUTE_MS = 60_000;

/** Until when something is put off for that many minutes. */
export function untilOf(minutes: number, now: Date): Date {
  return new Date(now.getTime() + minutes * MINUTE_MS);
}

/** The fields of a mark that says so of the duty with that key, at `now`. */
export function fieldsOf(key: string, mark: DutyMark, now: Date): Fields {
  if (mark.what === 'later') return { what: 'later', duty: key, until: untilOf(mark.minutes, now).toISOString() };
  return mark.what === 'skipped' ? { what: 'skipped', duty: key, note: mark.note } : { what: mark.what, duty: key };
}

const DAY_MS = 86_400_000;
const HOUR_MS = 3_600_000;

/** Whether a duty has not lost its use by `now`; where it is not said until when, a day after it was due. */
export function isOfUse(duty: DutyTold, now: Date): boolean {
  const until = duty.until_at === null ? Date.parse(duty.due_at) + DAY_MS : Date.parse(duty.until_at);
  return until > now.getTime();
}

/** Whether a duty belongs on Tonight at `now`: due before the night ends and not yet over. */
export function isForTonight(duty: DutyTold, now: Date, nightEnds: Date): boolean {
  return Date.parse(duty.due_at) <= nightEnds.getTime() && isOfUse(duty, now);
}

/** Whether it asks something of that person now or within the hour: neither over, nor another's, nor put off. */
export function asksOf(duty: DutyTold, marks: readonly Mark[], person: string, now: Date): boolean {
  const state = dutyState(duty, marks);
  const isHis = state.takenBy === null || state.takenBy === person;
  return isHis && state.doneAt === null && putOffUntil(state, person, now) === null && isForTonight(duty, now, new Date(now.getTime() + HOUR_MS));
}
