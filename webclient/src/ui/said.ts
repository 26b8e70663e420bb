/** A look said in a few words: full, silver, tails seen. */
import { texts } from '../texts';

type Said = Readonly<Record<string, Readonly<Record<string, string>> | string>>;
const PARTS = ['mouth', 'clutch', 'eggs', 'tails', 'loose_fry', 'food'] as const;

/** The parts of a look that were seen, each in its words. */
export function lookParts(fields: Readonly<Record<string, unknown>>, words: Said = texts.look.said): string[] {
  return PARTS.flatMap((part) => {
    const said = words[part];
    const value = fields[part];
    return typeof said === 'object' && typeof value === 'string' && said[value] ? [said[value]] : [];
  });
}

/** A look in one line, by the words of his way, also when nothing was noted or it was filled in afterwards. */
export function lookWords(fields: Readonly<Record<string, unknown>>, words: Said = texts.look.said): string {
  const parts = lookParts(fields, words);
  if (fields['recalled'] === true) parts.push(texts.look.said.recalled);
  return parts.length > 0 ? parts.join(', ') : texts.look.said.nothing;
}

/** The light of a look in words. */
export function lightWords(light: unknown): string {
  const names = texts.look.light.names as Readonly<Record<string, string>>;
  return typeof light === 'string' ? (names[light] ?? light) : '';
}

/** The words as the beginning of a sentence. */
export function upperFirst(words: string): string {
  return words.charAt(0).toLocaleUpperCase() + words.slice(1);
}

/** The words of a title within a sentence. */
export function lowerFirst(words: string): string {
  return words.charAt(0).toLocaleLowerCase() + words.slice(1);
}
