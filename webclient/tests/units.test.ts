/** Units by choice: what was typed comes back as it was typed, and steps do not drift. */
import { expect, test } from 'vitest';
import { METRIC, celsiusOf, litresOf, shownTemperature, shownVolume, steppedCelsius } from '../src/domain/units';
import { temperatureWords, volumeWords } from '../src/ui/measures';

const tenths = (from: number, to: number): number[] => Array.from({ length: Math.round((to - from) * 10) + 1 }, (_, i) => Number((from + i / 10).toFixed(1)));

test('every temperature that a thermometer shows comes back as it was typed, in both units', () => {
  for (const shown of tenths(23, 113)) expect(shownTemperature(celsiusOf(shown, 'F'), 'F')).toBe(shown);
  for (const shown of tenths(-5, 45)) expect(shownTemperature(celsiusOf(shown, 'C'), 'C')).toBe(shown);
});

test('every volume comes back as it was typed, in both units', () => {
  for (const shown of tenths(0, 600)) expect([shownVolume(litresOf(shown, 'gal'), 'gal'), shownVolume(litresOf(shown, 'L'), 'L')]).toEqual([shown, shown]);
});

// Fixed points of the scales: water freezes at 32 °F and boils at 212 °F (ITS-90 to the digits shown here).
test('the scales meet where they should', () => {
  expect([celsiusOf(32, 'F'), celsiusOf(79, 'F'), celsiusOf(-40, 'F')]).toEqual([0, 26.111, -40]);
  expect([shownTemperature(100, 'F'), shownTemperature(26.5, 'F')]).toEqual([212, 79.7]);
  expect([litresOf(55, 'gal'), shownVolume(240, 'gal')]).toEqual([208.198, 63.4]);
});

test('steps forth and back end where they began, and stop where the scale ends', () => {
  let celsius = 26.5;
  for (let i = 0; i < 40; i += 1) celsius = steppedCelsius(celsius, 0.1, 'F');
  for (let i = 0; i < 8; i += 1) celsius = steppedCelsius(celsius, -0.5, 'F');
  expect(celsius).toBe(26.5);
  expect([steppedCelsius(44.9, 0.5, 'C'), steppedCelsius(-4.8, -0.5, 'F')]).toEqual([45, -5]);
});

test('a value of the other unit is shown to a tenth, and stepped from what is shown', () => {
  expect(temperatureWords(26.111, METRIC)).toBe('26.1 °C');
  expect(steppedCelsius(26.111, 0.1, 'C')).toBe(26.2);
  expect(temperatureWords(celsiusOf(79, 'F'), { temperature: 'F', volume: 'gal' })).toBe('79.0 °F');
  expect([volumeWords(240, METRIC), volumeWords(208.198, { temperature: 'F', volume: 'gal' })]).toEqual(['240 L', '55 gal']);
});
