/**
 * Whole-number arithmetic for conversions in which doubles lose their digits.
 *
 * Every double is a whole number times a power of two, so a list of doubles becomes whole numbers by one common shift
 * and polynomials with such coefficients multiply and divide without any rounding.
 */

/** Polynomial with whole coefficients, lowest power first. */
export type WholePolynomial = readonly bigint[];

/** Doubles as whole numbers times 2^−shift. */
export function wholeNumbers(values: readonly number[]): { whole: bigint[]; shift: number } {
  const parts = values.map(mantissaAndExponent);
  const least = Math.min(...parts.map((part) => part.exponent));
  return {
    whole: parts.map(({ mantissa, exponent }) => mantissa << BigInt(exponent - least)),
    shift: -least,
  };
}

const view = new DataView(new ArrayBuffer(8));

/** A double as an odd integer times a power of two, exactly. */
function mantissaAndExponent(value: number): { mantissa: bigint; exponent: number } {
  view.setFloat64(0, value);
  const bits = view.getBigUint64(0);
  const biased = Number((bits >> 52n) & 0x7ffn);
  let mantissa = bits & 0xfffffffffffffn;
  let exponent = biased - 1075;
  if (biased === 0) exponent = -1074;
  else mantissa |= 1n << 52n;
  if (mantissa === 0n) return { mantissa: 0n, exponent: 0 };
  while ((mantissa & 1n) === 0n) {
    mantissa >>= 1n;
    exponent++;
  }
  return { mantissa: bits >> 63n ? -mantissa : mantissa, exponent };
}

/** `numerator/denominator · 2^exponent` as the nearest double, for positive numbers. */
export function ratioToNumber(numerator: bigint, denominator: bigint, exponent = 0): number {
  const spare = bitLength(denominator) - bitLength(numerator) + 66;
  const quotient =
    spare >= 0 ? (numerator << BigInt(spare)) / denominator : numerator / (denominator << BigInt(-spare));
  return Number(quotient) * 2 ** (exponent - spare);
}

/** Product of two polynomials with whole coefficients. */
export function multiply(a: WholePolynomial, b: WholePolynomial): bigint[] {
  const out = new Array<bigint>(a.length + b.length - 1).fill(0n);
  a.forEach((x, i) => {
    b.forEach((y, j) => {
      out[i + j] += x * y;
    });
  });
  return out;
}

/** Bits that a positive integer takes. */
function bitLength(value: bigint): number {
  const hex = value.toString(16);
  return hex.length * 4 - Math.clz32(Number.parseInt(hex[0], 16)) + 28;
}
