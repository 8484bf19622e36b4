import { type Dimension, type DimensionName, dimensions, type Unit } from './unit-table.ts';

/**
 * A number with its unit in its name. `power` with dimension `power` is `power_W` on the bench and may be called
 * `power_kW` in a file.
 */
export interface Quantity {
  readonly quantity: string;
  readonly dimension: DimensionName;
}

/** `value in the bench's unit = factor · value + offset`. */
export interface Conversion {
  readonly factor: number;
  readonly offset: number;
}

/**
 * Converts a unit that the table does not list, or says that it cannot.
 *
 * @param suffix     the unit as it stands in the name, `acre` or `BTU_per_hour`
 * @param reference  the bench's own unit in the notation of mathjs, `W` or `N m`
 */
export type UnitConverter = (suffix: string, reference: string) => Conversion | undefined;

export type Reading =
  | {
      readonly kind: 'read';
      readonly quantity: Quantity;
      readonly suffix: string;
      readonly conversion: Conversion;
    }
  | { readonly kind: 'no-unit'; readonly quantity: Quantity }
  | { readonly kind: 'unknown-unit'; readonly quantity: Quantity; readonly suffix: string }
  | { readonly kind: 'other' };

/** The name a quantity has on the bench: `power_W`. */
export function benchName(quantity: Quantity): string {
  return acceptedNames(quantity)[0];
}

/** The names a quantity may have in a file, the bench's own first. */
export function acceptedNames(quantity: Quantity): string[] {
  if (quantity.dimension === 'plain') return [quantity.quantity];
  return dimensions[quantity.dimension].units.map((unit) => `${quantity.quantity}_${unit.suffix}`);
}

let converter: UnitConverter | undefined;

/**
 * Lets units be read that the table does not list.
 *
 * The library that knows them is slow to load and reading is synchronous, so a caller loads it only when
 * `unlistedUnits` finds that it is needed, registers it once, and then reads. `undefined` takes it away again.
 *
 * @example
 * if (unlistedUnits(files).length > 0) registerUnitConverter(await loadUnitConverter());
 * readBench(files).runs[0].power_W // 0
 */
export function registerUnitConverter(convert: UnitConverter | undefined): void {
  converter = convert;
}

/**
 * Reads a column or key name as quantity and unit.
 *
 * The longest quantity that the name begins with wins, so that `fan_duty_percent` is a duty and not a `fan` in
 * "duty_percent".
 *
 * @example readName('power_kW', [{ quantity: 'power', dimension: 'power' }]) // … conversion: { factor: 1000, offset: 0 }
 */
export function readName(name: string, quantities: readonly Quantity[]): Reading {
  let found: Quantity | undefined;
  for (const candidate of quantities) {
    const begins =
      name === candidate.quantity ||
      (candidate.dimension !== 'plain' && name.startsWith(`${candidate.quantity}_`));
    if (begins && (!found || candidate.quantity.length > found.quantity.length)) found = candidate;
  }
  if (!found) return { kind: 'other' };
  const suffix = name.slice(found.quantity.length + 1);
  const dimension: Dimension = dimensions[found.dimension];
  if (suffix === '' && found.dimension !== 'plain') return { kind: 'no-unit', quantity: found };
  const unit: Unit | undefined = dimension.units.find((candidate) => candidate.suffix === suffix);
  if (unit) return { kind: 'read', quantity: found, suffix, conversion: unit };
  const converted = dimension.reference === '' ? undefined : converter?.(suffix, dimension.reference);
  if (converted) return { kind: 'read', quantity: found, suffix, conversion: converted };
  return { kind: 'unknown-unit', quantity: found, suffix };
}

/** Converts a value; a unit with factor 1 and no offset leaves it bit for bit as it was written. */
export function toBenchUnit(value: number, conversion: Conversion): number {
  return value * conversion.factor + conversion.offset;
}
