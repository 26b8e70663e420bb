/** What a person says of a duty, written as a mark that can be taken back. */
import { fieldsOf, untilOf, type DutyMark } from '../domain/duties';
import { duties } from '../texts/en/duties';
import { hourWords } from '../ui/dates';
import type { DutyView } from '../ui/views';
import type { Tools } from './tools.svelte';
import { addMark } from './writes';

function saidOf(mark: DutyMark, zone: string, now: Date): string {
  if (mark.what === 'later') return duties.saidLater(hourWords(untilOf(mark.minutes, now), zone));
  return { taken: duties.saidTaken, done: duties.saidDone, handed_back: duties.saidBack, skipped: duties.saidSkipped }[mark.what];
}

/** Write the mark, and say so; the frame offers to take it back. */
export function markDuty({ store, moment, acts }: Pick<Tools, 'store' | 'moment' | 'acts'>, duty: DutyView, mark: DutyMark): void {
  const now = moment.refresh();
  void acts.carryOut(`${duty.title}: ${saidOf(mark, duty.zone, now)}`, () => addMark(store, duty.brood, now, fieldsOf(duty.key, mark, now)));
}
