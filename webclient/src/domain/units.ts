/** Units by choice; records hold °C, litres and millimetres alone. */

// Exact by definition: the inch is 25.4 mm, the US gallon 231 cubic inches (NIST SP 811, appendix B).
const MM_PER_INCH = 25.4;
const LITRES_PER_GALLON = 3.785411784;

/** °F from °C. */
export function fahrenheit(celsius: number): number {
  return (celsius * 9) / 5 + 32;
}

/** °C from °F. */
export function celsius(fahrenheitDegrees: number): number {
  return ((fahrenheitDegrees - 32) * 5) / 9;
}

/** US gallons from litres. */
export function gallons(litres: number): number {
  return litres / LITRES_PER_GALLON;
}

/** Litres from US gallons. */
export function litres(usGallons: number): number {
  return usGallons * LITRES_PER_GALLON;
}

/** Inches from millimetres. */
export function inches(millimetres: number): number {
  return millimetres / MM_PER_INCH;
}

/** Millimetres from inches. */
export function millimetres(inch: number): number {
  return inch * MM_PER_INCH;
}
