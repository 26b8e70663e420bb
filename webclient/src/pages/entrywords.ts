/** What happened, in words. */
import { texts } from '../texts';
import { later } from '../texts/later';
import { countsOf, type Entry } from './happening';
import { numberOf, textOf, type Holding } from './holding';

/** What was said of a duty: its name by the first part of its key, and what was said. */
function dutyWords({ record, what }: Entry, { way }: Holding): string {
  const { duties, saidOfDuty } = later.broods[way].marks;
  const duty = (duties as Readonly<Record<string, string>>)[textOf(record, 'duty')?.split(':')[0] ?? ''] ?? texts.tonight.duty.other.title;
  return saidOfDuty[what as keyof typeof saidOfDuty](duty);
}

function countWords(entry: Entry, holding: Holding): string | null {
  const words = later.broods[holding.way].marks;
  const { eggs, yolk, free } = countsOf(entry, holding);
  const number = numberOf(holding.brood, 'kept');
  if (entry.what === 'caught') return words.counts(eggs, yolk, free);
  return entry.record.kind === 'brood' && number !== null ? words.kept(number) : null;
}

/** An entry's name and what was counted of it. */
export function entryWords(entry: Entry, holding: Holding): { name: string; counts: string | null } {
  if (entry.isOfDuty) return { name: dutyWords(entry, holding), counts: null };
  const { happened, marks } = later.broods[holding.way];
  const names = { ...happened.names, ...marks.names } as Readonly<Record<string, string>>;
  const took = texts.look.said.food as Readonly<Record<string, string>>;
  const name = entry.what === 'fed' ? (took[textOf(entry.record, 'took') ?? ''] ?? '') : (names[entry.what] ?? entry.what);
  return { name, counts: countWords(entry, holding) };
}
