/** JSON values and the one text in which two copies of a value are compared. */

export type Json = null | boolean | number | string | Json[] | { [name: string]: Json };

/** One text for one JSON value: names sorted by code point, no spaces, 26.0 written as 26; the server writes the same. */
export function canonical(value: Json): string {
  if (typeof value === 'number') return numberText(value);
  if (value === null || typeof value !== 'object') return JSON.stringify(value);
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
  const names = Object.keys(value).sort(compareText);
  return `{${names.map((name) => `${JSON.stringify(name)}:${canonical(value[name] as Json)}`).join(',')}}`;
}

/** Order of two texts by code point: below 0, 0 or above 0. UTF-16 units would put U+FFFD after U+10000. */
export function compareText(a: string, b: string): number {
  const shared = Math.min(a.length, b.length);
  for (let i = 0; i < shared; i += 1) {
    if (a.charCodeAt(i) === b.charCodeAt(i)) continue;
    // The second half of a pair differs only where the first halves are equal, so half pairs compare rightly too.
    return (a.codePointAt(i) as number) - (b.codePointAt(i) as number);
  }
  return a.length - b.length;
}

/** A number as Python's `json` writes it: whole ones in full, small ones as 1.5e-07. RangeError for what JSON lacks. */
function numberText(value: number): string {
  if (!Number.isFinite(value)) throw new RangeError(`${value} is no JSON number`);
  if (Number.isInteger(value)) return BigInt(value).toString();
  if (Math.abs(value) >= 1e-4) return String(value);
  return value.toExponential().replace(/e-(\d)$/, 'e-0$1');
}
