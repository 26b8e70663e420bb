/** Loose young on this phone's own word: of a named male, or of one of several in a tank, nobody knows which. */
import type { Rec } from '../store';
import { texts } from '../texts';
import type { Words } from '../texts/ways';
import { momentWords } from '../ui/dates';
import { looseFry, type Evening } from './evening';
import { atOf, textOf, type Holding } from './holding';
import { lampsOf } from './lamps';

/** One alarm, and the broods on which it rests until somebody says that the young are safe. */
export interface Alarm {
  readonly key: string;
  /** With whom they were seen and when, in words. */
  readonly seen: string;
  /** The words for young of that way. */
  readonly words: Words['tonight'];
  readonly males: readonly { readonly brood: string; readonly duty: string | null }[];
}

const nameOf = (one: Holding): string => textOf(one.fish, 'name') ?? texts.tonight.duty.somebody;

function lastHandled(holding: Holding): number {
  const handled = holding.marks.filter((mark) => mark.fields['what'] === 'loose_fry_handled');
  return Math.max(0, ...handled.map((mark) => atOf(mark).getTime()));
}

function beganAt(holding: Holding): number {
  return Date.parse(textOf(holding.brood, 'not_before') ?? textOf(holding.brood, 'at') ?? '') || 0;
}

/** Whether the young of that look may be his: he held then, and nobody has said since that all are safe. */
function mayBeHis(holding: Holding, look: Rec): boolean {
  const at = atOf(look).getTime();
  return holding.tank?.id === look.fields['about'] && at > lastHandled(holding) && at >= beganAt(holding);
}

function ownAlarm(holding: Holding, now: Date): Alarm | null {
  const found = looseFry(holding);
  if (!found) return null;
  const when = momentWords(found.at, lampsOf(holding.tank).zone, now);
  const words = holding.words.tonight;
  return { key: holding.brood.id, words, seen: words.fry.seen(nameOf(holding), when), males: [{ brood: holding.brood.id, duty: found.duty }] };
}

function sharedAlarm(tank: Rec, evening: Evening, now: Date): Alarm | null {
  const looks = evening.unsure.filter((look) => look.fields['about'] === tank.id && look.fields['loose_fry'] === 'seen');
  const maybe = evening.holding.filter((one) => looks.some((look) => mayBeHis(one, look)));
  const last = looks.findLast((look) => maybe.some((one) => mayBeHis(one, look)));
  if (!last) return null;
  // Of whichever way they are: what is to be done at once differs little.
  const words = maybe[0]?.words.tonight ?? texts.tonight;
  const seen = words.fry.seenUnsure(textOf(tank, 'name') ?? '', maybe.map(nameOf), momentWords(atOf(last), lampsOf(tank).zone, now));
  return { key: tank.id, words, seen, males: maybe.map((one) => ({ brood: one.brood.id, duty: looseFry(one)?.duty ?? null })) };
}

/** Every alarm of this evening; whoever shares one with the others of his tank needs none of his own. */
export function alarmsOf(evening: Evening, now: Date): Alarm[] {
  const shared = evening.tanks.flatMap((tank) => sharedAlarm(tank, evening, now) ?? []);
  const covered = new Set(shared.flatMap((alarm) => alarm.males.map((male) => male.brood)));
  return [...shared, ...evening.holding.filter((one) => !covered.has(one.brood.id)).flatMap((one) => ownAlarm(one, now) ?? [])];
}
