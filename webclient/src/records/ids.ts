/** Names that are made on the device: of records and of the device itself. */

export type RandomBytes = (count: number) => Uint8Array;

const DEVICE_LETTERS = '0123456789abcdefghijklmnopqrstuvwxyz';

/** A UUID of version 7 (RFC 9562, section 5.7): 48 bits of milliseconds, the rest random. */
export function uuid7(nowMs: number, random: RandomBytes): string {
  const bytes = new Uint8Array(16);
  bytes.set(random(10), 6);
  // The clock may be wrong by years, and the id stays as it is: its time is for the order of keys alone.
  new DataView(bytes.buffer).setUint16(0, Math.floor(nowMs / 2 ** 32));
  new DataView(bytes.buffer).setUint32(2, nowMs % 2 ** 32);
  bytes[6] = 0x70 | ((bytes[6] as number) & 0x0f);
  bytes[8] = 0x80 | ((bytes[8] as number) & 0x3f);
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join('-');
}

/** Eight letters and digits that name this device in its stamps, each of them equally likely. */
export function deviceName(random: RandomBytes): string {
  const letters: string[] = [];
  while (letters.length < 8) {
    // 252 is the greatest multiple of 36 in a byte; what lies above would favour the first letters.
    letters.push(...Array.from(random(16).filter((byte) => byte < 252), (byte) => DEVICE_LETTERS.charAt(byte % 36)));
  }
  return letters.slice(0, 8).join('');
}
