import type { UnitConverter } from './quantity.ts';
import { unitOf } from './unit-of.ts';

/**
 * A converter for units that the table of units does not list, by mathjs.
 *
 * `_per_` in a suffix is a division and `_` a product: `power_BTU_per_hour`, `torque_ozf_in`. A unit of another
 * dimension, or a word that is no unit, is not converted.
 */
export const unitConverter: UnitConverter = (suffix, reference) => {
  if (suffix.length > 60 || !/^[A-Za-z]+[0-9]?(_[A-Za-z]+[0-9]?)*$/.test(suffix)) return undefined;
  const written = suffix.replaceAll('_per_', '/').replaceAll('_', ' ');
  try {
    if (!unitOf(1, written).equalBase(unitOf(1, reference))) return undefined;
    // Temperature scales have their own zero; two points give any unit that is linear.
    const offset = unitOf(0, written).toNumber(reference);
    const factor =
      offset === 0
        ? unitOf(1, written).toNumber(reference)
        : (unitOf(1000, written).toNumber(reference) - offset) / 1000;
    return Number.isFinite(factor) && factor > 0 ? { factor, offset } : undefined;
  } catch {
    return undefined;
  }
};
