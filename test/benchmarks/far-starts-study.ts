import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fitFormula } from '../../src/formula/fit-formula.ts';

/** From the repository's root, where studies and tests are started; a bundle of this file lies elsewhere. */
const folder = join(process.cwd(), 'test/fixtures/nist');

/** Where the fits of one set ended: at the certified minimum, refused, or converged elsewhere with a warning that doubts it or without. */
export interface FarStarts {
  readonly found: number;
  readonly refused: number;
  readonly warned: number;
  readonly silent: number;
}

const DOUBT = /other minima|lower minimum|runs off/;

/**
 * Fits of the NIST sets from starts scattered about the two published ones in turn.
 *
 * @param decades  half-width of the scatter
 * @param repeats  starts a set
 * @returns by the set's name
 */
export function farStarts(decades = 1, repeats = 20, seed = 12345): Map<string, FarStarts> {
  let state = seed;
  const uniform = () => {
    state = (state * 48271) % 2147483647;
    return state / 2147483647;
  };
  const answer = new Map<string, FarStarts>();
  for (const file of readdirSync(folder).sort()) {
    const set = JSON.parse(readFileSync(join(folder, file), 'utf8'));
    const y = set.responseTransform === 'log' ? set.data.y.map(Math.log) : set.data.y;
    const count = { found: 0, refused: 0, warned: 0, silent: 0 };
    for (let k = 0; k < repeats; k++) {
      const start = Object.fromEntries(
        Object.entries<number>(set.starts[k % 2]).map(([name, value]) => [
          name,
          value * 10 ** ((2 * uniform() - 1) * decades),
        ]),
      );
      const fit = fitFormula({ formula: set.formula, data: { ...set.data, y }, start });
      const ratio = fit.residualSumOfSquares / set.certified.residualSumOfSquares;
      // The residuals of Lanczos1 are rounding error: its sum of squares is certified to two digits only.
      if (!fit.converged) count.refused++;
      else if (Math.abs(ratio - 1) < (set.name === 'Lanczos1' ? 1e-2 : 1e-6)) count.found++;
      else if (fit.warnings.some((warning) => DOUBT.test(warning))) count.warned++;
      else count.silent++;
    }
    answer.set(set.name, count);
  }
  return answer;
}
