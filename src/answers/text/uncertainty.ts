/**
 * Writing a number beside its standard uncertainty.
 *
 * A digit that the uncertainty swallows says nothing, so the uncertainty is given to two significant digits and the
 * value is cut to the same decimal place (JCGM 100:2008, 7.2.6). Two digits rather than one, because rounding 0.14 to
 * 0.1 would change an uncertainty by a third.
 */

/** Above this many decimals, or above ten million, a number is easier to read as a multiple of a power of ten. */
const MOST_DECIMALS = 7;
const LARGEST_PLAIN = 1e7;

/**
 * Decimal places that show an uncertainty to two significant digits; negative for tens and hundreds.
 *
 * The exponent is taken after rounding: 0.0996 becomes 0.10, which needs two places, not three.
 *
 * @param uncertainty  a positive, finite uncertainty in any unit
 * @example decimalsFor(0.3141) // 2
 * @example decimalsFor(124) // -1
 */
export function decimalsFor(uncertainty: number): number {
  const exponent = Number(uncertainty.toExponential(1).split('e')[1]);
  return 1 - exponent;
}

/**
 * A number with a fixed count of decimals, which may be negative, and never "-0.0".
 *
 * @example fixed(1234, -2) // '1200'
 * @example fixed(-0.04, 1) // '0.0'
 */
export function fixed(value: number, decimals: number): string {
  if (!Number.isFinite(value)) return 'not known';
  let text: string;
  if (decimals >= 0) {
    text = value.toFixed(Math.min(decimals, 100));
  } else {
    const unit = 10 ** -decimals;
    text = (Math.round(value / unit) * unit).toFixed(0);
  }
  return /^-0(\.0*)?$/.test(text) ? text.slice(1) : text;
}

interface Rounded {
  value: string;
  uncertainty: string;
  /** Power of ten that both are to be multiplied by; 0 for plain numbers. */
  exponent: number;
}

/**
 * A value and its uncertainty to two digits of the uncertainty; in powers of ten where either is very small
 * or large.
 */
function round(value: number, uncertainty: number): Rounded {
  let exponent = 0;
  const size = Math.max(Math.abs(value), uncertainty);
  if (decimalsFor(uncertainty) > MOST_DECIMALS || size >= LARGEST_PLAIN) {
    exponent = Math.floor(Math.log10(size));
  }
  const scale = 10 ** -exponent;
  const decimals = decimalsFor(uncertainty * scale);
  return {
    value: fixed(value * scale, decimals),
    uncertainty: fixed(uncertainty * scale, decimals),
    exponent,
  };
}

/** A number without a known uncertainty: four significant digits. */
function bare(value: number): string {
  if (!Number.isFinite(value)) return 'not known';
  if (value === 0) return '0';
  const size = Math.abs(value);
  return size >= 1e-4 && size < LARGEST_PLAIN ? String(Number(value.toPrecision(4))) : value.toExponential(3);
}

/**
 * Value and standard uncertainty with "±" between them.
 *
 * An uncertainty of zero gives the value alone; one that is not finite is said to be not known rather than hidden.
 *
 * @param value  in any unit
 * @param uncertainty  standard uncertainty in the same unit, not negative
 * @returns text; for a very small or large pair, "(1.234 ± 0.012)e-5"
 * @throws RangeError if the uncertainty is negative
 * @example roundToUncertainty(38.4187, 0.3141) // '38.42 ± 0.31'
 */
export function roundToUncertainty(value: number, uncertainty: number): string {
  if (uncertainty < 0) throw new RangeError(`an uncertainty is not negative, but ${uncertainty} was given`);
  if (!Number.isFinite(value)) return 'not known';
  if (uncertainty === 0) return bare(value);
  if (!Number.isFinite(uncertainty)) return `${bare(value)} ± not known`;
  const r = round(value, uncertainty);
  const text = `${r.value} ± ${r.uncertainty}`;
  return r.exponent === 0 ? text : `(${text})e${r.exponent}`;
}

/**
 * The same in the concise form, in which the digits in brackets belong to the last digits of the value.
 *
 * When the uncertainty reaches one unit, the point stays inside the brackets so that 38.4(1.2) is not read as 0.12.
 *
 * @throws RangeError if the uncertainty is negative
 * @example conciseUncertainty(38.4187, 0.3141) // '38.42(31)'
 * @example conciseUncertainty(38.4187, 1.23) // '38.4(1.2)'
 */
export function conciseUncertainty(value: number, uncertainty: number): string {
  if (uncertainty < 0) throw new RangeError(`an uncertainty is not negative, but ${uncertainty} was given`);
  if (!Number.isFinite(value)) return 'not known';
  if (uncertainty === 0) return bare(value);
  if (!Number.isFinite(uncertainty)) return `${bare(value)}(not known)`;
  const r = round(value, uncertainty);
  const digits = Number(r.uncertainty) < 1 ? r.uncertainty.replace(/^0\.0*/, '') : r.uncertainty;
  const text = `${r.value}(${digits})`;
  return r.exponent === 0 ? text : `${text}e${r.exponent}`;
}

/**
 * An interval, both ends to the decimal place that shows its half-width to two significant digits.
 *
 * @example interval(36.123, 39.871) // '36.1 to 39.9'
 */
export function interval(low: number, high: number): string {
  if (!Number.isFinite(low) || !Number.isFinite(high)) {
    return `${Number.isFinite(low) ? bare(low) : 'open'} to ${Number.isFinite(high) ? bare(high) : 'open'}`;
  }
  const half = (high - low) / 2;
  const decimals = half > 0 ? Math.max(0, decimalsFor(half)) : 2;
  return `${fixed(low, decimals)} to ${fixed(high, decimals)}`;
}
