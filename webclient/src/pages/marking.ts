/** What a person says of a duty, written as a mark that can be taken back. */
import type { Fields } from '../store';
import { texts } from '../texts';
import { duties } from '../texts/en/duties';
import { hourWords } from '../ui/dates';
import type { DutyMark, DutyView } from '../ui/views';
import type { Tools } from './tools.svelte';
import { addMark } from './writes';

const MINUTE_MS = 60_000;

/** The fields of that mark, made at `now`. */
export function fieldsOf(key: string, mark: DutyMark, now: Date): Fields {
  if (mark.what === 'later') return { what: 'later', duty: key, until: new Date(now.getTime() + mark.minutes * MINUTE_MS).toISOString() };
  return mark.what === 'skipped' ? { what: 'skipped', duty: key, note: mark.note } : { what: mark.what, duty: key };
}

function saidOf(mark: DutyMark, zone: string, now: Date): string {
  const words = texts.tonight.duty;
  if (mark.what === 'later') return duties.saidLater(hourWords(new Date(now.getTime() + mark.minutes * MINUTE_MS), zone));
  return { taken: words.saidTaken, done: words.saidDone, handed_back: words.saidBack, skipped: duties.saidSkipped }[mark.what];
}

/** Write the mark, and say so; the frame offers to take it back. */
export function markDuty({ store, moment, acts }: Pick<Tools, 'store' | 'moment' | 'acts'>, duty: DutyView, mark: DutyMark): void {
  const now = moment.refresh();
  void acts.carryOut(`${duty.title}: ${saidOf(mark, duty.zone, now)}`, () => addMark(store, duty.brood, now, fieldsOf(duty.key, mark, now)));
}
