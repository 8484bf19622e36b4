/**
 * Honesty of the asymptote on logs of known truth, in figures: bias, z-scores, coverage of cut logs, calls of steady. Each log is reduced
 * alone.
 *
 * usage: reduce-study [logs] [seed] [variant]
 */
import { scanLog } from '../../src/logs/log-scanner.ts';
import { reduceLog } from '../../src/logs/reduce-log.ts';
import { type LogRecipe, makeLog, randomRecipe, seeded } from '../logs/make-logs.ts';

const logs = Number(process.argv[2] ?? 200);
const seed = Number(process.argv[3] ?? 1);
const variant = process.argv[4] ?? 'plain';
/** Benches unlike the one the study is written for. */
const variants: Record<string, Partial<LogRecipe>> = {
  plain: {},
  correlated: { correlation: 0.95, noise_K: 0.06 },
  clean: {
    wander_K: 0,
    ambientNoise_K: 0,
    rounding_K: 0,
    ambientRounding_K: 0,
    correlation: 0,
    noise_K: 0.05,
  },
  restless: { wander_K: 0.5, wander_s: 400 },
  coarse: { interval_s: 5, correlation: 0.8 },
  fine: { interval_s: 0.25 },
  'air-noise': { ambientNoise_K: 0.1 },
  'tenth-degree': { rounding_K: 0.1, ambientRounding_K: 0.1, noise_K: 0.02, ambientNoise_K: 0.005 },
  slowest: { follow: 'slowest', wander_K: 0.4 },
  shares: { follow: 'shares', wander_K: 0.4 },
  'at-once': { follow: 'at-once', wander_K: 0.4 },
  swing: { loadSwing: { share: 0.002, period_s: 900 } },
};

interface Outcome {
  error: number;
  u: number;
  short: number;
  steady: boolean;
  half: number;
}

function outcome(recipe: LogRecipe, index: number, keep: number): Outcome {
  const made = makeLog(recipe, seeded(seed * 100_003 + index), keep);
  const log = scanLog('made.csv', new TextEncoder().encode(made.csv));
  const [run] = reduceLog(log, { setpoint_C: 22, tolerance_K: 1 }, { early_stop_K: 0 });
  if (run.rise_K === null || run.u_K === null)
    throw new Error(`log ${index} kept to ${keep} has no asymptote`);
  const error = run.rise_K - made.rise_K[0];
  return { error, u: run.u_K, short: made.short_K[0], steady: run.steady, half: 1.96 * run.u_K };
}

function describe(name: string, all: Outcome[]): void {
  const mean = (f: (o: Outcome) => number) => all.reduce((sum, o) => sum + f(o), 0) / all.length;
  const bias = mean((o) => o.error);
  const z = all.map((o) => o.error / o.u);
  const zMean = z.reduce((a, b) => a + b, 0) / z.length;
  const zSd = Math.sqrt(z.reduce((a, b) => a + (b - zMean) ** 2, 0) / (z.length - 1));
  const covered = mean((o) => (Math.abs(o.error) <= o.half ? 1 : 0));
  const usable = all.filter((o) => o.half <= 0.3);
  const coveredUsable = usable.filter((o) => Math.abs(o.error) <= o.half).length / usable.length;
  const far = all.filter((o) => o.short > 0.3);
  const near = all.filter((o) => Math.abs(o.short) < 0.03);
  const us = all.map((o) => o.u).sort((a, b) => a - b);
  console.log(
    `${name}: n ${all.length} bias ${bias.toFixed(4)} K  z mean ${zMean.toFixed(2)} sd ${zSd.toFixed(3)}  covered ${(100 * covered).toFixed(1)} %  u median ${us[us.length >> 1].toFixed(3)} 90% ${us[Math.floor(us.length * 0.9)].toFixed(3)}`,
    ` far ${far.length} not steady ${far.length ? ((100 * far.filter((o) => !o.steady).length) / far.length).toFixed(1) : '-'} %  near ${near.length} steady ${near.length ? ((100 * near.filter((o) => o.steady).length) / near.length).toFixed(1) : '-'} %`,
    ` usable ${((100 * usable.length) / all.length).toFixed(0)} %, of which covered ${(100 * coveredUsable).toFixed(1)} %`,
  );
}

for (const kind of ['air', 'liquid'] as const) {
  const full: Outcome[] = [];
  const cut: Outcome[] = [];
  const start = performance.now();
  for (let i = 0; i < logs; i++) {
    const recipe = { ...randomRecipe(seeded(seed * 7919 + i), kind, 1800), ...variants[variant] };
    full.push(outcome(recipe, i, 1));
    cut.push(outcome(recipe, i, 0.4));
  }
  describe(`${kind} full`, full);
  describe(`${kind} cut `, cut);
  console.log(`${((performance.now() - start) / logs / 2).toFixed(2)} ms a log, making included`);
}
