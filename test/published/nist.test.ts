import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { fitFormula } from '../../src/formula/fit-formula.ts';
import { halton } from '../../src/numerics/least-squares/starts.ts';

/**
 * NIST/ITL Statistical Reference Datasets, nonlinear regression (public domain): certified values and data as
 * published, in `test/fixtures/nist`, each from its two published starts. Where `source` says that a set was written
 * down from memory, the check proves the memory too: data and certified values agree to ten digits, or they are wrong.
 */
interface StrdSet {
  name: string;
  formula: string;
  /** 'log': the formula is one for the natural logarithm of the response. */
  responseTransform?: 'log';
  starts: Record<string, number>[];
  certified: {
    parameters: Record<string, number>;
    standardErrors: Record<string, number>;
    residualSumOfSquares: number;
    residualStandardDeviation: number;
    degreesOfFreedom: number;
  };
  data: { y: number[] } & Record<string, number[]>;
}

const folder = new URL('../fixtures/nist/', import.meta.url);
const sets = readdirSync(folder)
  .sort()
  .map((file) => JSON.parse(readFileSync(new URL(file, folder), 'utf8')) as StrdSet);

/** Digits that agree: −log10 of the relative error. */
function digits(value: number, certified: number): number {
  return value === certified ? 16 : -Math.log10(Math.abs((value - certified) / certified));
}

describe('NIST StRD nonlinear regression', () => {
  it('has sets to check', () => expect(sets.length).toBe(23));

  const cases = sets.flatMap((set) =>
    set.starts.map((start, k) => ({ set, start, label: `${set.name}, start ${k + 1}` })),
  );
  it.each(cases)('$label', ({ set, start }) => {
    const y = set.responseTransform === 'log' ? set.data.y.map(Math.log) : set.data.y;
    const fit = fitFormula({ formula: set.formula, data: { ...set.data, y }, start });
    const { certified } = set;
    expect(fit.reason).toBe('');
    expect(fit.converged).toBe(true);
    // The published Rat43 says 9 degrees of freedom, but its sum of squares and deviation are those of 11 (15 rows − 4).
    const freedom = certified.residualSumOfSquares / certified.residualStandardDeviation ** 2;
    expect(fit.degreesOfFreedom).toBeCloseTo(freedom, 6);
    // The residuals of Lanczos1 are the thirteenth digit of its data: their size is known to three digits at best.
    const scatterDigits = set.name === 'Lanczos1' ? 2 : 8;
    for (const [name, value] of Object.entries(certified.parameters)) {
      expect(digits(fit.parameters[name].value, value), name).toBeGreaterThan(8);
      expect(
        digits(fit.parameters[name].standardError, certified.standardErrors[name]),
        name,
      ).toBeGreaterThan(scatterDigits - 1);
    }
    expect(digits(fit.residualStandardDeviation, certified.residualStandardDeviation)).toBeGreaterThan(
      scatterDigits,
    );
    expect(digits(fit.residualSumOfSquares, certified.residualSumOfSquares)).toBeGreaterThan(scatterDigits);
  });
});

describe('NIST StRD from starts up to ten times off', () => {
  // A pole between two rows leaves as little of Thurber's scatter as the certified curve; ENSO has very many minima.
  const doubt = /other minima|lower minimum|runs off/;
  it.each(['Thurber', 'ENSO'])('%s: the certified minimum, or a word of doubt', (name) => {
    const set = sets.find((one) => one.name === name) as StrdSet;
    let found = 0;
    const count = name === 'ENSO' ? 4 : 40;
    for (let k = 0; k < count; k++) {
      const start = Object.fromEntries(
        Object.entries(set.starts[0]).map(([key, value], j) => [
          key,
          value * 10 ** (2 * halton(k + 1, [2, 3, 5, 7, 11, 13, 17, 19, 23][j]) - 1),
        ]),
      );
      const fit = fitFormula({ formula: set.formula, data: set.data, start });
      const right = Math.abs(fit.residualSumOfSquares / set.certified.residualSumOfSquares - 1) < 1e-6;
      if (fit.converged && right) found++;
      else expect(fit.converged ? fit.warnings.join() : 'other minima').toMatch(doubt);
    }
    if (name === 'Thurber') expect(found).toBe(count);
  });
});
