/**
 * One fit of four parameters to 32 runs, covariance included: median of many warm ones, beside scipy's least_squares on
 * the same data in the same run.
 *
 * Usage: node test/benchmarks/fit-speed.mjs. Needs python3 with scipy.
 */
import { execFileSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { importSource } from './bundle.mjs';

const { fitFormula } = await importSource('src/formula/fit-formula.ts');
const { solveLeastSquares } = await importSource('src/numerics/least-squares/least-squares.ts');

const names = ['R_c', 'R_a', 'm', 'k'];
const start = { R_c: 0.1, R_a: 0.1, m: 1, k: 1e-4 };
const data = { P: [], n: [], y: [] };
let state = 1;
for (const n of [1, 0.8, 0.6, 0.45]) {
  for (let P = 50; P <= 330; P += 40) {
    state = (state * 48271) % 2147483647;
    data.P.push(P);
    data.n.push(n);
    data.y.push(P * (0.06 + 0.11 * n ** -0.8) * (1 - 2e-4 * P) + 0.4 * (state / 2147483647 - 0.5));
  }
}
const rows = data.y.length;

const byHand = {
  residualCount: rows,
  names,
  start: names.map((name) => start[name]),
  residual([c, a, m, k], r, jacobian) {
    for (let i = 0; i < rows; i++) {
      const P = data.P[i];
      const air = data.n[i] ** -m;
      const droop = P * (1 - k * P);
      r[i] = droop * (c + a * air) - data.y[i];
      if (!jacobian) continue;
      jacobian[4 * i] = droop;
      jacobian[4 * i + 1] = droop * air;
      jacobian[4 * i + 2] = -droop * a * air * Math.log(data.n[i]);
      jacobian[4 * i + 3] = -P * P * (c + a * air);
    }
  },
};
const bounds = { R_c: [0, 1], R_a: [0, 1], m: [0.1, 3], k: [-0.01, 0.01] };
const formula = 'P*(R_c + R_a*n^(-m))*(1 - k*P)';

function median(work) {
  const times = [];
  for (let k = 0; k < 4000; k++) {
    const begin = performance.now();
    work();
    times.push(performance.now() - begin);
  }
  const warm = times.slice(1000).sort((a, b) => a - b);
  return { median: warm[warm.length >> 1], high: warm[Math.floor(warm.length * 0.95)] };
}

const cases = {
  'solveLeastSquares, residuals by hand': () => solveLeastSquares(byHand),
  'solveLeastSquares, linear parameters named': () => solveLeastSquares({ ...byHand, linear: [0, 1] }),
  'fitFormula (with its guard against other minima)': () => fitFormula({ formula, data, start }),
  'fitFormula, every parameter bounded': () => fitFormula({ formula, data, start, bounds }),
};
const reference = JSON.parse(
  execFileSync('python3', [fileURLToPath(new URL('fit-speed.py', import.meta.url))], {
    input: JSON.stringify({ data, start, repeats: 1000 }),
    encoding: 'utf8',
  }),
);
console.log('| Fit of 4 parameters to 32 runs | median, ms | 95 %, ms |\n| --- | --- | --- |');
for (const [name, work] of Object.entries(cases)) {
  const { median: middle, high } = median(work);
  console.log(`| ${name} | ${middle.toFixed(3)} | ${high.toFixed(3)} |`);
}
for (const method of ['lm', 'trf']) {
  console.log(
    `| scipy ${reference.scipy} least_squares, ${method} | ${reference[method].median_ms.toFixed(3)} | |`,
  );
}
const ours = fitFormula({ formula, data, start });
names.forEach((name, j) => {
  const other = reference.lm.parameters[j];
  const apart = Math.abs(ours.parameters[name].value / other - 1);
  if (!(apart < 1e-6)) throw new Error(`${name}: ${ours.parameters[name].value} here, ${other} by scipy`);
});
