/** Duties as this phone knows them: what came down, with the marks made here since laid over it. */
import type { Rec } from '../store';
import type { Duty } from './derived';

/** Who has a duty in hand and when it was done, by person id. */
export interface DutyState {
  readonly takenBy: string | null;
  readonly doneBy: string | null;
  readonly doneAt: string | null;
}

function when(mark: Rec): string {
  return String(mark.fields['at'] ?? '');
}

/** Of those who took it and did not hand it back, the one who took it first; the same rule as the server's. */
function holderOf(own: readonly Rec[]): string | null {
  const standing = new Map<string, Rec>();
  for (const mark of own) {
    if (mark.fields['what'] === 'taken' && !standing.has(mark.author)) standing.set(mark.author, mark);
    if (mark.fields['what'] === 'handed_back') standing.delete(mark.author);
  }
  const first = own.find((mark) => standing.get(mark.author) === mark);
  return first?.author ?? null;
}

/** A duty's state: the marks of its key in the order they were made, or else what the server says. */
export function dutyState(duty: Duty, marks: readonly Rec[]): DutyState {
  const own = marks.filter((mark) => mark.fields['duty'] === duty.key).sort((a, b) => (when(a) < when(b) ? -1 : 1));
  if (own.length === 0) return { takenBy: duty.taken_by, doneBy: duty.done_at ? duty.taken_by : null, doneAt: duty.done_at };
  const done = own.find((mark) => mark.fields['what'] === 'done');
  return { takenBy: holderOf(own), doneBy: done?.author ?? null, doneAt: done ? when(done) : duty.done_at };
}

const DAY_MS = 86_400_000;

/** Whether a duty belongs on Tonight at `now`: due within the next hours or due and not yet over. */
export function isForTonight(duty: Duty, now: Date, nightEnds: Date): boolean {
  const due = Date.parse(duty.due_at);
  const until = duty.until_at === null ? due + DAY_MS : Date.parse(duty.until_at);
  return due <= nightEnds.getTime() && until > now.getTime();
}
