/**
 * Units by choice: kept are °C and litres, shown is what the person chose. Pure.
 * What is shown has one decimal, and what is kept three: so a value typed in either unit comes back as it was typed.
 */

export interface Units {
  readonly temperature: 'C' | 'F';
  readonly volume: 'L' | 'gal';
}

export const METRIC: Units = { temperature: 'C', volume: 'L' };

/** Litres in a US gallon: 231 cubic inches of 2.54 cm (NIST Handbook 44, appendix C). */
const LITRES_PER_GALLON = 3.785411784;
const LOWEST_C = -5;
const HIGHEST_C = 45;

function rounded(value: number, decimals: number): number {
  return Number(value.toFixed(decimals));
}

/** A temperature of °C in the unit that is shown, to a tenth. */
export function shownTemperature(celsius: number, unit: Units['temperature']): number {
  return rounded(unit === 'F' ? celsius * 1.8 + 32 : celsius, 1);
}

/** The °C of a temperature as it is shown. */
export function celsiusOf(shown: number, unit: Units['temperature']): number {
  return unit === 'F' ? rounded((shown - 32) / 1.8, 3) : rounded(shown, 1);
}

/** The °C after a step in the unit that is shown, within what a thermometer in a tank can say. */
export function steppedCelsius(celsius: number, by: number, unit: Units['temperature']): number {
  const moved = celsiusOf(rounded(shownTemperature(celsius, unit) + by, 1), unit);
  return Math.min(HIGHEST_C, Math.max(LOWEST_C, moved));
}

/** A volume of litres in the unit that is shown, to a tenth; small vessels want more. */
export function shownVolume(litres: number, unit: Units['volume'], decimals = 1): number {
  return rounded(unit === 'gal' ? litres / LITRES_PER_GALLON : litres, decimals);
}

/** The litres of a volume as it is shown. */
export function litresOf(shown: number, unit: Units['volume']): number {
  return rounded(unit === 'gal' ? shown * LITRES_PER_GALLON : shown, 3);
}
