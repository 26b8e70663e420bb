/** Instants as records hold them: ISO 8601 in UTC, to the millisecond. */

const INSTANT = /^\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:\d\d)$/;

/** An instant's text, such as 2026-11-25T20:10:00.000Z. */
export function instantText(ms: number): string {
  return new Date(ms).toISOString();
}

/** The milliseconds since 1970 of an instant's text, or null for any other value. */
export function instantMs(value: unknown): number | null {
  if (typeof value !== 'string' || !INSTANT.test(value)) return null;
  const ms = Date.parse(value);
  return Number.isNaN(ms) ? null : ms;
}
