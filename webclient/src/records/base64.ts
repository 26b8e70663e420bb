/** Bytes as JSON can carry them: base64 (RFC 4648, 4). */

/** The bytes in base64. */
export function base64(bytes: Uint8Array): string {
  const parts: string[] = [];
  // Not all at once: a call takes only so many arguments.
  for (let start = 0; start < bytes.length; start += 0x8000) parts.push(String.fromCharCode(...bytes.subarray(start, start + 0x8000)));
  return btoa(parts.join(''));
}
