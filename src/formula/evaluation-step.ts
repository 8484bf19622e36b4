/** The arithmetic of each operation: its value over a block of rows, and its derivatives by the chain rule. */
import { POWER, type PowerKind } from './constant-power.ts';
import type { OperationName } from './program.ts';

/** A register or a derivative: `mask` is 0 where one number stands for all rows, −1 where there is one a row. */
export interface Track {
  readonly data: Float64Array;
  readonly mask: number;
}

/** One derivative of one operation's result; an operand that does not depend on the variable is `undefined`. */
export interface Term {
  readonly out: Float64Array;
  readonly a: Track | undefined;
  readonly b: Track | undefined;
  readonly c: Track | undefined;
}

/** One operation of a program with the storage of its result and of its derivatives. */
export interface Step {
  readonly name: OperationName;
  readonly power: PowerKind;
  readonly out: Float64Array;
  readonly a: Track;
  readonly b: Track;
  readonly c: Track;
  readonly parameterTerms: readonly Term[];
  readonly inputTerms: readonly Term[];
}

export const NOTHING: Track = { data: new Float64Array(1), mask: 0 };
export const ONE: Track = { data: Float64Array.of(1), mask: 0 };
const MINUS_ONE: Track = { data: Float64Array.of(-1), mask: 0 };
export const ROWWISE = -1;

/**
 * One operation over a block of rows: its result into `step.out`, and the derivatives asked for into the terms' `out`.
 *
 * @param count  rows of the block
 * @param partialA  room for ∂result/∂a, one a row
 * @param partialB  room for ∂result/∂b
 */
export function runStep(
  step: Step,
  count: number,
  byParameter: boolean,
  byInput: boolean,
  partialA: Track,
  partialB: Track,
): void {
  const derive = (byParameter && step.parameterTerms.length > 0) || (byInput && step.inputTerms.length > 0);
  const { out } = step;
  const x = step.a.data;
  const y = step.b.data;
  const xm = step.a.mask;
  const ym = step.b.mask;
  const pa = partialA.data;
  const pb = partialB.data;
  let slopeA = partialA;
  let slopeB = partialB;
  let selects = false;
  switch (step.name) {
    case 'add':
      for (let r = 0; r < count; r++) out[r] = x[r & xm] + y[r & ym];
      slopeA = ONE;
      slopeB = ONE;
      break;
    case 'subtract':
      for (let r = 0; r < count; r++) out[r] = x[r & xm] - y[r & ym];
      slopeA = ONE;
      slopeB = MINUS_ONE;
      break;
    case 'multiply':
      for (let r = 0; r < count; r++) out[r] = x[r & xm] * y[r & ym];
      slopeA = step.b;
      slopeB = step.a;
      break;
    case 'divide':
      for (let r = 0; r < count; r++) out[r] = x[r & xm] / y[r & ym];
      if (derive) {
        for (let r = 0; r < count; r++) {
          const inverse = 1 / y[r & ym];
          pa[r] = inverse;
          pb[r] = -out[r] * inverse;
        }
      }
      break;
    case 'power':
      raise(step, count, derive, pa, pb);
      break;
    case 'negate':
      for (let r = 0; r < count; r++) out[r] = -x[r & xm];
      slopeA = MINUS_ONE;
      break;
    case 'exp':
      for (let r = 0; r < count; r++) out[r] = Math.exp(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = out[r];
      break;
    case 'log':
      for (let r = 0; r < count; r++) out[r] = Math.log(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = 1 / x[r & xm];
      break;
    case 'log10':
      for (let r = 0; r < count; r++) out[r] = Math.log10(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = Math.LOG10E / x[r & xm];
      break;
    case 'sqrt':
      for (let r = 0; r < count; r++) out[r] = Math.sqrt(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = 0.5 / out[r];
      break;
    case 'tanh':
      for (let r = 0; r < count; r++) out[r] = Math.tanh(x[r & xm]);
      if (derive) {
        // 1 − tanh² loses its digits far from zero; this form keeps them.
        for (let r = 0; r < count; r++) {
          const e = Math.exp(-2 * Math.abs(x[r & xm]));
          pa[r] = (4 * e) / ((1 + e) * (1 + e));
        }
      }
      break;
    case 'atan':
      for (let r = 0; r < count; r++) out[r] = Math.atan(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = 1 / (1 + x[r & xm] * x[r & xm]);
      break;
    case 'sin':
      for (let r = 0; r < count; r++) out[r] = Math.sin(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = Math.cos(x[r & xm]);
      break;
    case 'cos':
      for (let r = 0; r < count; r++) out[r] = Math.cos(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = -Math.sin(x[r & xm]);
      break;
    case 'abs':
      for (let r = 0; r < count; r++) out[r] = Math.abs(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = Math.sign(x[r & xm]);
      break;
    case 'min':
      for (let r = 0; r < count; r++) out[r] = Math.min(x[r & xm], y[r & ym]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = x[r & xm] <= y[r & ym] ? 1 : 0;
      selects = true;
      break;
    case 'max':
      for (let r = 0; r < count; r++) out[r] = Math.max(x[r & xm], y[r & ym]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = x[r & xm] >= y[r & ym] ? 1 : 0;
      selects = true;
      break;
    case 'less':
      for (let r = 0; r < count; r++) out[r] = x[r & xm] < y[r & ym] ? 1 : 0;
      break;
    case 'lessOrEqual':
      for (let r = 0; r < count; r++) out[r] = x[r & xm] <= y[r & ym] ? 1 : 0;
      break;
    case 'greater':
      for (let r = 0; r < count; r++) out[r] = x[r & xm] > y[r & ym] ? 1 : 0;
      break;
    case 'greaterOrEqual':
      for (let r = 0; r < count; r++) out[r] = x[r & xm] >= y[r & ym] ? 1 : 0;
      break;
    case 'choose': {
      const z = step.c.data;
      const zm = step.c.mask;
      for (let r = 0; r < count; r++) {
        const condition = x[r & xm];
        out[r] = condition !== 0 ? y[r & ym] : z[r & zm];
        pa[r] = condition;
      }
      selects = true;
      break;
    }
  }
  if (!derive) return;
  if (byParameter) carry(step, step.parameterTerms, count, selects, slopeA, slopeB, pa);
  if (byInput) carry(step, step.inputTerms, count, selects, slopeA, slopeB, pa);
}

/** Chain rule of a step: each variable's derivative from those of the operands times the slopes. */
function carry(
  step: Step,
  terms: readonly Term[],
  count: number,
  selects: boolean,
  slopeA: Track,
  slopeB: Track,
  chosen: Float64Array,
): void {
  for (let t = 0; t < terms.length; t++) {
    const term = terms[t];
    if (selects && step.name === 'choose') select(term.out, count, chosen, term.b, term.c);
    else if (selects) select(term.out, count, chosen, term.a, term.b);
    else chain(term.out, count, slopeA, term.a, slopeB, term.b);
  }
}

/** The chain rule: out = slopeA·a + slopeB·b, leaving out what is not there. */
function chain(
  out: Float64Array,
  count: number,
  slopeA: Track,
  a: Track | undefined,
  slopeB: Track,
  b: Track | undefined,
): void {
  const p = slopeA.data;
  const pm = slopeA.mask;
  const q = slopeB.data;
  const qm = slopeB.mask;
  if (a !== undefined && b !== undefined) {
    const { data: da, mask: am } = a;
    const { data: db, mask: bm } = b;
    for (let r = 0; r < count; r++) out[r] = p[r & pm] * da[r & am] + q[r & qm] * db[r & bm];
  } else if (a !== undefined) {
    const { data: da, mask: am } = a;
    for (let r = 0; r < count; r++) out[r] = p[r & pm] * da[r & am];
  } else if (b !== undefined) {
    const { data: db, mask: bm } = b;
    for (let r = 0; r < count; r++) out[r] = q[r & qm] * db[r & bm];
  }
}

/** The derivative of the branch taken, row by row. */
function select(
  out: Float64Array,
  count: number,
  chosen: Float64Array,
  whenTrue: Track | undefined,
  whenFalse: Track | undefined,
): void {
  const { data: a, mask: am } = whenTrue ?? NOTHING;
  const { data: b, mask: bm } = whenFalse ?? NOTHING;
  for (let r = 0; r < count; r++) out[r] = chosen[r] !== 0 ? a[r & am] : b[r & bm];
}

/** base^exponent with both slopes; the common constant exponents without a call of `Math.pow`. */
function raise(step: Step, count: number, derive: boolean, pa: Float64Array, pb: Float64Array): void {
  const { out, power } = step;
  const { data: x, mask: xm } = step.a;
  const { data: y, mask: ym } = step.b;
  switch (power) {
    case POWER.square:
      for (let r = 0; r < count; r++) out[r] = x[r & xm] * x[r & xm];
      if (derive) for (let r = 0; r < count; r++) pa[r] = 2 * x[r & xm];
      return;
    case POWER.cube:
      for (let r = 0; r < count; r++) out[r] = x[r & xm] * x[r & xm] * x[r & xm];
      if (derive) for (let r = 0; r < count; r++) pa[r] = 3 * x[r & xm] * x[r & xm];
      return;
    case POWER.inverse:
      for (let r = 0; r < count; r++) out[r] = 1 / x[r & xm];
      if (derive) for (let r = 0; r < count; r++) pa[r] = -out[r] * out[r];
      return;
    case POWER.root:
      for (let r = 0; r < count; r++) out[r] = Math.sqrt(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = 0.5 / out[r];
      return;
    case POWER.inverseRoot:
      for (let r = 0; r < count; r++) out[r] = 1 / Math.sqrt(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = (-0.5 * out[r]) / x[r & xm];
      return;
    case POWER.threeHalves:
      for (let r = 0; r < count; r++) out[r] = x[r & xm] * Math.sqrt(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = 1.5 * Math.sqrt(x[r & xm]);
      return;
    case POWER.general:
      for (let r = 0; r < count; r++) out[r] = x[r & xm] ** y[r & ym];
      if (!derive) return;
      for (let r = 0; r < count; r++) {
        const base = x[r & xm];
        const exponent = y[r & ym];
        const value = out[r];
        const quotient = value / base;
        const sound = quotient !== 0 && Number.isFinite(quotient);
        pa[r] = exponent === 0 ? 0 : exponent * (sound ? quotient : base ** (exponent - 1));
        pb[r] = base === 0 && exponent > 0 ? 0 : value * Math.log(base);
      }
  }
}
