/**
 * Our side of compare-peer.mjs: one model, one fit a cooler, all pairs on the load grid, by the parts that compare is made
 * of. usage: FOLDER
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { readBench } from '../../src/bench/read-bench.ts';
import { createEvaluator } from '../../src/formula/evaluate.ts';
import { linearParameters } from '../../src/formula/linearity.ts';
import { shippedModel } from '../../src/formula/shipped-models.ts';
import { solveLeastSquares } from '../../src/numerics/least-squares/least-squares.ts';

const folder = process.argv[2];
const wall = performance.now();
const cpu = process.cpuUsage();
const files = ['bench.yaml', 'runs.csv', 'coolers.csv'].map((name): [string, Uint8Array] => [
  name,
  new Uint8Array(readFileSync(join(folder, name))),
]);
const bench = readBench(new Map(files));
const loads = Float64Array.from({ length: 61 }, (_, k) => 50 + 5 * k);
const model = shippedModel('fan_power_law')!;
const names = model.parameters.map((parameter) => parameter.name);
const evaluator = createEvaluator(model.program);
const linear = linearParameters(model.program);
const runsOf = grouped();
const full = new Float64Array(61).fill(1);
const fits = bench.coolers.map((cooler) => {
  const runs = runsOf.get(cooler.cooler) ?? [];
  const power = Float64Array.from(runs, (run) => run.power_W);
  const speed = Float64Array.from(runs, (run) => run.fan_rpm / cooler.fan_max_rpm);
  const columns = model.inputs.map((input) => (input === 'P' ? power : speed));
  const { parameters } = solveLeastSquares({
    residualCount: runs.length,
    names,
    start: [0.1, 0.1, 0.8],
    low: [0, 0, 0.05],
    high: [5, 5, 3],
    linear,
    residual: (p, r, jacobian) => {
      if (jacobian) evaluator.withJacobian(columns, p, r, jacobian);
      else evaluator.values(columns, p, r);
      runs.forEach((run, i) => {
        r[i] = power[i] * r[i] - (run.source_C - run.ambient_C);
        if (jacobian) for (let j = 0; j < 3; j++) jacobian[3 * i + j] *= power[i];
      });
    },
  });
  const rise = new Float64Array(61);
  evaluator.values(
    model.inputs.map((input) => (input === 'P' ? loads : full)),
    parameters,
    rise,
  );
  for (let k = 0; k < 61; k++) rise[k] *= loads[k];
  return { cooler: cooler.cooler, rise };
});
const count = (fits.length * (fits.length - 1)) / 2;
const differences = new Float64Array(61 * count);
let at = 0;
for (let a = 0; a < fits.length; a++) {
  for (let b = a + 1; b < fits.length; b++) {
    for (let k = 0; k < 61; k++) differences[at++] = fits[a].rise[k] - fits[b].rise[k];
  }
}
const { user } = process.cpuUsage(cpu);
console.log(
  JSON.stringify({
    wall_s: (performance.now() - wall) / 1000,
    cpu_s: user / 1e6,
    process_cpu_s: process.cpuUsage().user / 1e6,
    pairs: count,
    sum: differences.reduce((sum, difference) => sum + Math.abs(difference), 0),
    coolers: Object.fromEntries(fits.map(({ cooler, rise }) => [cooler, [rise[0], rise[30], rise[60]]])),
  }),
);

function grouped(): Map<string, (typeof bench.runs)[number][]> {
  const found = new Map<string, (typeof bench.runs)[number][]>();
  for (const run of bench.runs) found.set(run.cooler, [...(found.get(run.cooler) ?? []), run]);
  return found;
}
