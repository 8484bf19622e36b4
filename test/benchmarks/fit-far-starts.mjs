/**
 * Fits of the NIST sets from starts scattered about the published ones: how many find the certified minimum, how many
 * are refused with a reason, and how many are called converged elsewhere.
 *
 * Usage: node test/benchmarks/fit-far-starts.mjs [decades = 1] [starts a set = 20]
 */
import { readdirSync, readFileSync } from 'node:fs';
import { importSource } from './bundle.mjs';

const { fitFormula } = await importSource('src/fitting/fit-formula.ts');
const folder = new URL('../fixtures/nist/', import.meta.url);
const decades = Number(process.argv[2] ?? 1);
const repeats = Number(process.argv[3] ?? 20);
let state = 12345;
const uniform = () => {
  state = (state * 48271) % 2147483647;
  return state / 2147483647;
};

const total = { found: 0, refused: 0, other: 0 };
console.log('| Set | found | refused | another minimum | mean, ms |\n| --- | --- | --- | --- | --- |');
for (const file of readdirSync(folder).sort()) {
  const set = JSON.parse(readFileSync(new URL(file, folder), 'utf8'));
  const y = set.responseTransform === 'log' ? set.data.y.map(Math.log) : set.data.y;
  const certified = set.certified.residualSumOfSquares;
  const count = { found: 0, refused: 0, other: 0 };
  const begin = performance.now();
  for (let k = 0; k < repeats; k++) {
    const start = Object.fromEntries(
      Object.entries(set.starts[k % 2]).map(([name, value]) => [
        name,
        value * 10 ** ((2 * uniform() - 1) * decades),
      ]),
    );
    const fit = fitFormula({ formula: set.formula, data: { ...set.data, y }, start });
    // The residuals of Lanczos1 are rounding error: its sum of squares is certified to two digits only.
    const tolerance = set.name === 'Lanczos1' ? 1e-2 : 1e-6;
    if (!fit.converged) count.refused++;
    else if (Math.abs(fit.residualSumOfSquares / certified - 1) < tolerance) count.found++;
    else count.other++;
  }
  const mean = (performance.now() - begin) / repeats;
  for (const kind of Object.keys(total)) total[kind] += count[kind];
  console.log(`| ${set.name} | ${count.found} | ${count.refused} | ${count.other} | ${mean.toFixed(1)} |`);
}
console.log(`| all | ${total.found} | ${total.refused} | ${total.other} | |`);
