/**
 * Nights of a tank. A night bears the date of the evening on which it begins: its lamps-out is the first such local
 * time after that date's noon; it ends at the next lamps-on. Local times as in PEP 495 with fold=0: one that does not
 * exist has the offset before the change, one that exists twice is the first.
 */

export interface Lamps {
  /** IANA name of the tank's time zone. */
  readonly zone: string;
  /** Local times of day, "HH:MM". */
  readonly out: string;
  readonly on: string;
}

const DAY_MS = 86_400_000;
const NOON = '12:00';
const OFFSETS_KEPT = 500;

/** The calendar date (YYYY-MM-DD) of an instant in a zone. */
export function dateIn(zone: string, at: Date): string {
  return new Date(wallMs(zone, at.getTime())).toISOString().slice(0, 10);
}

/** The calendar date that many days on. */
export function shiftDate(date: string, days: number): string {
  return new Date(Date.parse(`${date}T00:00:00Z`) + days * DAY_MS).toISOString().slice(0, 10);
}

/** The instant of a local date and time of day in a zone. */
export function instantIn(zone: string, date: string, time: string): Date {
  const wall = Date.parse(`${date}T${time}:00Z`);
  const around = [offsetMs(zone, wall - DAY_MS), offsetMs(zone, wall + DAY_MS)] as const;
  const exact = around.map((offset) => wall - offset).filter((ms) => wallMs(zone, ms) === wall);
  // In a gap neither offset fits, and the one before the change counts.
  return new Date(exact.length > 0 ? Math.min(...exact) : wall - around[0]);
}

/** When the lamps go out at the beginning of that night. */
export function lampsOut(lamps: Lamps, night: string): Date {
  return instantIn(lamps.zone, lamps.out > NOON ? night : shiftDate(night, 1), lamps.out);
}

/** When the lamps come on at the end of that night. */
export function lampsOn(lamps: Lamps, night: string): Date {
  const out = lampsOut(lamps, night);
  let date = night;
  while (instantIn(lamps.zone, date, lamps.on) <= out) date = shiftDate(date, 1);
  return instantIn(lamps.zone, date, lamps.on);
}

/** The date of the night that is or comes next: after midnight it is the evening that began it. */
export function nightOf(lamps: Lamps, at: Date): string {
  let night = shiftDate(dateIn(lamps.zone, at), -2);
  while (lampsOn(lamps, night) <= at) night = shiftDate(night, 1);
  return night;
}

/** Whether the lamps are lit at that instant. */
export function areLampsLit(lamps: Lamps, at: Date): boolean {
  return at < lampsOut(lamps, nightOf(lamps, at));
}

/** When the lamps go out or come on next after that instant. */
export function nextLampChange(lamps: Lamps, at: Date): Date {
  const night = nightOf(lamps, at);
  const out = lampsOut(lamps, night);
  return out > at ? out : lampsOn(lamps, night);
}

/** Whether this device can tell the hours of a zone: one with an older list of zones may not. */
export function isKnownZone(zone: string): boolean {
  try {
    return formatOf(zone) !== undefined;
  } catch (problem) {
    if (problem instanceof RangeError) return false;
    throw problem;
  }
}

const formats = new Map<string, Intl.DateTimeFormat>();

function formatOf(zone: string): Intl.DateTimeFormat {
  const known = formats.get(zone);
  if (known !== undefined) return known;
  const fields = { year: 'numeric', month: '2-digit', day: '2-digit', hour: '2-digit', minute: '2-digit', second: '2-digit' } as const;
  const made = new Intl.DateTimeFormat('en-US', { timeZone: zone, calendar: 'gregory', numberingSystem: 'latn', hourCycle: 'h23', ...fields });
  formats.set(zone, made);
  return made;
}

/** What a clock on the wall shows at an instant, as if it were UTC, milliseconds. */
function wallMs(zone: string, ms: number): number {
  return ms + offsetMs(zone, ms);
}

/** How far the zone is ahead of UTC at an instant, milliseconds. */
export function offsetMs(zone: string, ms: number): number {
  const day = Math.floor(ms / DAY_MS);
  const [before, after] = [midnightOffsetMs(zone, day), midnightOffsetMs(zone, day + 1)];
  // No zone sets its clocks twice within a day: where both ends of it agree, so does all that lies between.
  return before === after ? before : shownMs(zone, ms) - ms;
}

const offsets = new Map<string, number>();

/** The zone's offset at the beginning of a UTC day, remembered: asking by a format is slow on a phone. */
function midnightOffsetMs(zone: string, day: number): number {
  const key = `${zone} ${day}`;
  const known = offsets.get(key) ?? shownMs(zone, day * DAY_MS) - day * DAY_MS;
  if (offsets.size >= OFFSETS_KEPT) offsets.clear();
  offsets.set(key, known);
  return known;
}

function shownMs(zone: string, ms: number): number {
  const shown = Object.fromEntries(formatOf(zone).formatToParts(ms).map(({ type, value }) => [type, Number(value)]));
  const { year = 0, month = 0, day = 0, hour = 0, minute = 0, second = 0 } = shown;
  return Date.UTC(year, month - 1, day, hour, minute, second) + (((ms % 1000) + 1000) % 1000);
}
