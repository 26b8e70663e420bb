/** What the forecast says of single looks: what does not fit, where people saw different things, what it left out. */
import type { Rec } from '../store';
import { texts } from '../texts';
import { later } from '../texts/later';
import { dateIn } from '../domain/nights';
import { dayName } from '../ui/dates';
import { lightWords } from '../ui/said';
import type { Forecast, People } from './derived';
import { atOf, textOf, type Holding } from './holding';

/** Looks within this time are one evening's; the same rule as the server's. */
const ONE_EVENING_MS = 3 * 3_600_000;
/** As far as a phone's clock may be ahead and its look still counts; the same rule as the server's. */
const CLOCKS_APART_MS = 5 * 60_000;
/** The lights from the best down; the same classes as the server's. */
const CLASS_OF_LIGHT: Readonly<Record<string, number>> = { daylight: 0, torch: 0, dim_white: 1, blue: 2, red: 2, none: 2 };

/** A doubt about a look in words, and whether the way out may lie in the brood's beginning. */
export interface Doubt {
  readonly words: string;
  readonly isOfBeginning: boolean;
}
export interface Told {
  readonly holding: Holding;
  readonly people: People | undefined;
  readonly zone: string;
}

const plain = (words: string): Doubt => ({ words, isOfBeginning: false });

function partWords(part: string, { way }: Holding): string {
  return (later.broods[way].looks.parts as Readonly<Record<string, string>>)[part] ?? part;
}

function valueWords(part: string, value: string): string {
  const asked = texts.look as unknown as Readonly<Record<string, { names: Readonly<Record<string, string>> }>>;
  return asked[part]?.names[value] ?? value;
}

/** The light of a look by its class: 0 is the best. */
function lightClass(look: Rec): number {
  return CLASS_OF_LIGHT[textOf(look, 'light') ?? 'none'] ?? 2;
}

/** The looks of the evening that this one began, or those of them in which that part was seen. */
export function evening(first: Rec, part: string | null, looks: readonly Rec[]): Rec[] {
  const from = atOf(first).getTime();
  return looks.filter((look) => look.fields['recalled'] !== true && (part === null || textOf(look, part) !== null) && atOf(look).getTime() >= from && atOf(look).getTime() <= from + ONE_EVENING_MS);
}

function different(looks: readonly Rec[], part: string): string[] {
  return [...new Set(looks.map((look) => textOf(look, part) ?? ''))];
}

function sawWords(look: Rec, part: string, people: People | undefined): string {
  const who = people?.people.find((person) => person.id === look.author)?.name ?? texts.tonight.duty.somebody;
  return later.brood.looks.saw(who, valueWords(part, textOf(look, part) ?? ''), lightWords(look.fields['light']));
}

/** What people saw of that part on an evening and which of it counts, said once, beside the evening's last look;
 * nothing where they agree by now. */
function disagreementWords(look: Rec, said: Forecast['disagreements'][number], { holding, people }: Told): string | null {
  const first = [...holding.looks, ...holding.feedings].find((one) => one.id === said.look);
  const seen = first ? evening(first, said.part, holding.looks) : [];
  if (seen.at(-1)?.id !== look.id || different(seen, said.part).length < 2) return null;
  const best = Math.min(...seen.map(lightClass));
  const counted = different(seen.filter((one) => lightClass(one) === best), said.part);
  const [only] = counted;
  const words = later.brood.looks;
  const all = seen.map((one) => sawWords(one, said.part, people)).join(', ');
  const rule = counted.length === 1 && only ? words.betterLight(valueWords(said.part, only)) : words.sameLight;
  return words.different(partWords(said.part, holding), all, rule);
}

/** Why a look or feeding of this brood was left out; nothing where it was used. */
export function leftOut(record: Rec, { holding, zone }: Told): Doubt | null {
  const forecast = holding.forecast;
  // What was changed since the forecast has not been judged by it.
  if (!forecast?.left_out?.includes(record.id) || record.waiting) return null;
  const [words, at] = [later.broods[holding.way].looks.leftOut, atOf(record).getTime()];
  if (at > Date.parse(forecast.issued_at) + CLOCKS_APART_MS) return plain(words.ahead);
  const from = textOf(holding.brood, 'not_before');
  if (from !== null && at < Date.parse(from)) return { words: words.before(dayName(dateIn(zone, new Date(from)))), isOfBeginning: true };
  return { words: words.tooEarly, isOfBeginning: true };
}

/** All that is doubtful about a look. */
export function doubtsOf(look: Rec, told: Told): Doubt[] {
  const [forecast, words] = [told.holding.forecast, later.brood.looks];
  const unbelieved = (forecast?.not_believed ?? []).filter((doubt) => doubt.look === look.id).map((doubt) => partWords(doubt.part ?? '', told.holding));
  const disagreements = (forecast?.disagreements ?? []).map((said) => disagreementWords(look, said, told)).filter((said) => said !== null);
  const unused = leftOut(look, told);
  return [
    ...(unused ? [unused] : []),
    ...(forecast?.conflict?.look === look.id ? [plain(words.conflict)] : []),
    ...(unbelieved.length > 0 ? [plain(words.notBelieved(unbelieved.join(', ')))] : []),
    ...disagreements.map(plain),
    ...(look.waiting ? [plain(words.waiting)] : []),
  ];
}
