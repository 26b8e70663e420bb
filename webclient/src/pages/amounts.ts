/** How much, in words: in the house's own measure first, the quantity after it. */
import type { Amount } from '../domain/duties';
import { shownVolume, type Units } from '../domain/units';
import { duties as words } from '../texts/en/duties';
import { volumeWords } from '../ui/measures';

function figure(number: number): string {
  // Of a few young a meal weighs milligrams: they are no nothing.
  return new Intl.NumberFormat(undefined, number < 0.1 ? { maximumSignificantDigits: 1 } : { maximumFractionDigits: 2 }).format(number);
}

function quantityWords({ quantity, unit }: Amount, units: Units): string | null {
  if (quantity === null || unit === null) return null;
  if (unit === 'g') return words.grams(figure(quantity));
  const gallons = shownVolume(quantity, 'gal', 2);
  // A tenth of a gallon is more than a cup: of less than one it is said closer.
  return units.volume === 'gal' && gallons < 1 ? `${gallons} gal` : volumeWords(quantity, units);
}

/** An amount in words; nothing where none is known. */
export function amountWords(amount: Amount | null | undefined, units: Units): string | null {
  if (!amount) return null;
  const [quantity, { measure, measures }] = [quantityWords(amount, units), amount];
  if (measure === null || (measures === null && quantity !== null)) return quantity;
  // A meal is said whole: one level blue spoon.
  const measured = words.measured(measures === null || (measures === 1 && quantity === null) ? null : figure(measures), measure);
  return quantity === null ? measured : words.withQuantity(measured, quantity);
}
