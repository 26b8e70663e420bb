/** Mending a refused entry: its values as text that a person can change, and back into values. */
import type { Fields, Json } from '../store';

function isPlain(value: Json): value is string | number {
  return typeof value === 'string' || typeof value === 'number';
}

/** The values that can be mended by typing, as text. */
export function mendable(fields: Fields): Record<string, string> {
  const plain = Object.entries(fields).filter(([name, value]) => isPlain(value) && name !== 'about');
  return Object.fromEntries(plain.map(([name, value]) => [name, String(value)]));
}

/** What was typed, in the type that each value had; a number that is none stays the text it is. */
export function mended(fields: Fields, typed: Readonly<Record<string, string>>): Fields {
  const values = Object.entries(typed).map(([name, text]) => {
    const number = Number(text);
    return [name, typeof fields[name] === 'number' && text.trim() !== '' && Number.isFinite(number) ? number : text] as const;
  });
  return Object.fromEntries(values);
}
