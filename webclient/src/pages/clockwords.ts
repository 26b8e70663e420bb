/** A device's wrong clock in plain words: how far it was off, and what that means for the time of an entry. */
import { instantMs } from '../records/instants';
import type { FieldWriting, Rec } from '../store';
import { history } from '../texts/history';
import { momentWords } from '../ui/dates';
import { pastsOf } from './history';
import { textOf } from './holding';

const MINUTE_MS = 60_000;
const HOUR_MIN = 60;
const DAY_MIN = 24 * HOUR_MIN;
/** From here on whole days say enough. */
const DAYS_FROM_MIN = 3 * DAY_MIN;

/** How far the clock was ahead: its own word less the time that was put in its place; nothing where somebody has dated
 * the entry by hand since. */
export function aheadMs(own: readonly FieldWriting[]): number | null {
  const standing = pastsOf(undefined, own).map(({ name: field, stands }) => ({ field, value: stands.value, stamp: stands.stamp }));
  const phone = standing.find((one) => one.field === 'at_phone');
  const said = instantMs(phone?.value);
  // The correction writes both at once, under one stamp.
  const put = standing.find((one) => one.field !== 'at_phone' && one.stamp === phone?.stamp && instantMs(one.value) !== null);
  const right = instantMs(put?.value);
  return said === null || right === null ? null : said - right;
}

/** A span of time as people say it: 4 min, 3 h 12 min, 365 days. */
export function spanWords(ms: number): string {
  const minutes = Math.round(Math.abs(ms) / MINUTE_MS);
  const { span } = history.clock;
  if (minutes < HOUR_MIN) return span.minutes(minutes);
  if (minutes >= DAYS_FROM_MIN) return span.days(Math.round(minutes / DAY_MIN));
  return span.hours(Math.floor(minutes / HOUR_MIN), minutes % HOUR_MIN);
}

/** What is to be said of the clock of an entry; nothing where there is nothing to say. */
export function clockWords(record: Rec, ahead: number | null): string | null {
  const [words, isDoubtful] = [history.clock, record.fields['clock_doubtful'] === true];
  if (textOf(record, 'at_phone') === null && !isDoubtful) return null;
  const isOff = ahead !== null && Math.abs(ahead) >= MINUTE_MS;
  const off = !isOff ? (isDoubtful ? words.wrong : null) : ahead > 0 ? words.ahead(spanWords(ahead)) : words.behind(spanWords(ahead));
  const said = [off, isDoubtful ? words.doubtful : null].filter((one) => one !== null);
  return said.length > 0 ? said.join(' ') : null;
}

/** What the clock itself said; nothing where it was right. */
export function ownClockWords(record: Rec, zone: string, now: Date): string | null {
  const phone = textOf(record, 'at_phone');
  return phone === null ? null : history.clock.said(momentWords(new Date(phone), zone, now));
}
