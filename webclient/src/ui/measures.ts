/** Measures in words, in the units of this device. */
import { shownTemperature, shownVolume, type Units } from '../domain/units';

/** A temperature without its unit: 26.5. */
export function temperatureFigure(celsius: number, units: Units): string {
  return shownTemperature(celsius, units.temperature).toFixed(1);
}

/** The sign of the unit of temperatures: °C. */
export function temperatureUnit(units: Units): string {
  return `°${units.temperature}`;
}

/** A temperature with its unit: 26.5 °C. */
export function temperatureWords(celsius: number, units: Units): string {
  return `${temperatureFigure(celsius, units)} ${temperatureUnit(units)}`;
}

/** A volume with its unit: 240 L. */
export function volumeWords(litres: number, units: Units): string {
  return `${shownVolume(litres, units.volume)} ${units.volume}`;
}
