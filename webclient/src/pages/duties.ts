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

function afterMark(state: DutyState, mark: Rec): DutyState {
  const what = mark.fields['what'];
  // Of two people who take one duty the earlier mark holds.
  if (what === 'taken') return { ...state, takenBy: state.takenBy ?? mark.author };
  if (what === 'handed_back') return { ...state, takenBy: null };
  return what === 'done' ? { ...state, doneBy: mark.author, doneAt: when(mark) } : state;
}

/** A duty's state: the marks of its key in the order they were made, or else what the server says. */
export function dutyState(duty: Duty, marks: readonly Rec[]): DutyState {
  const own = marks.filter((mark) => mark.fields['duty'] === duty.key).sort((a, b) => (when(a) < when(b) ? -1 : 1));
  const start: DutyState = { takenBy: null, doneBy: null, doneAt: null };
  if (own.length === 0) return { takenBy: duty.taken_by, doneBy: duty.done_at ? duty.taken_by : null, doneAt: duty.done_at };
  const state = own.reduce(afterMark, start);
  return { ...state, doneAt: state.doneAt ?? duty.done_at };
}

const DAY_MS = 86_400_000;

/** Whether a duty belongs on Tonight at `now`: due within the next hours or due and not yet over. */
export function isForTonight(duty: Duty, now: Date, nightEnds: Date): boolean {
  const due = Date.parse(duty.due_at);
  const until = duty.until_at === null ? due + DAY_MS : Date.parse(duty.until_at);
  return due <= nightEnds.getTime() && until > now.getTime();
}
