import type { UnitConverter } from './quantity.ts';

/**
 * Loads mathjs and makes of it a converter for units that the table of units does not list.
 *
 * `_per_` in a suffix is a division and `_` a product: `power_BTU_per_hour`, `torque_ozf_in`. A unit of another
 * dimension, or a word that is no unit, is not converted.
 *
 * @example registerUnitConverter(await loadUnitConverter()) // now power_BTU_per_hour is read
 */
export async function loadUnitConverter(): Promise<UnitConverter> {
  return (await import('./unit-converter.ts')).unitConverter;
}
