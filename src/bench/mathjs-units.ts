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
  const { unitOf: unit } = await import('./unit-of.ts');
  return (suffix, reference) => {
    if (suffix.length > 60 || !/^[A-Za-z]+[0-9]?(_[A-Za-z]+[0-9]?)*$/.test(suffix)) return undefined;
    const written = suffix.replaceAll('_per_', '/').replaceAll('_', ' ');
    try {
      if (!unit(1, written).equalBase(unit(1, reference))) return undefined;
      // Temperature scales have their own zero; two points give any unit that is linear.
      const offset = unit(0, written).toNumber(reference);
      const factor =
        offset === 0
          ? unit(1, written).toNumber(reference)
          : (unit(1000, written).toNumber(reference) - offset) / 1000;
      return Number.isFinite(factor) && factor > 0 ? { factor, offset } : undefined;
    } catch {
      return undefined;
    }
  };
}
