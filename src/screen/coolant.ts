import type { Bench, Run } from '../bench/bench.ts';
import type { CoolerRuns } from '../fit/cooler-runs.ts';
import { grouped } from '../fit/scatter.ts';
import { cholesky, logDeterminant, solveLower } from '../numerics/matrix.ts';
import { median } from '../numerics/median.ts';
import { CovarianceLayout } from '../numerics/split-covariance.ts';
import { type Among, deleted, type LeftOut, Readings } from './left-out.ts';
import { type Cause, type SizedFault, scaleOn } from './sized-fault.ts';

/**
 * The coolant's rise above ambient in the runs of one cooler that log it, as one joint Gaussian about what a radiator does.
 *
 * The radiator's resistance, coolant's rise over heat into the base, is a smooth function of fan speed, load and pump speed: a line in
 * their logarithms, with slopes known beforehand to about half of themselves, and a bend in the fan's. The coolant's sensor has an offset
 * that a session shares, as good as the ambient's; samples differ by a few per cent; paste does not come into it, which is why this
 * reading tells what the source's alone cannot.
 */
export interface CoolantRuns {
  /** Rows of the cooler's runs that have a reading. */
  readonly rows: readonly number[];
  readonly runs: readonly Run[];
  readonly readings: Readings;
  /** The coolant's rise over the source's, mean of all. */
  readonly share: number;
}

/** Scatter of one steady reading of the coolant, K (common practice, no source). */
const READING_K = 0.2;
/** Samples, and runs of one sample, differ by so much of the coolant's rise. */
const SAMPLE_SHARE = 0.02;
const RUN_SHARE = 0.01;
/** Slopes of ln(resistance) in ln(fan), its square, ln(heat) and ln(pump): middle and spread (assumptions). */
const SLOPES = [
  { middle: 0, spread: 0.5 },
  { middle: -0.5, spread: 0.3 },
  { middle: 0.1, spread: 0.15 },
  { middle: 0, spread: 0.06 },
  { middle: 0, spread: 0.3 },
];
/** So many readings' worth of belief in READING_K when the bench speaks of it (an assumption). */
const READING_BELIEF = 10;

/** The coolant's readings of a cooler; undefined where fewer than two runs have one. */
export function coolantRuns(
  bench: Bench,
  data: CoolerRuns,
  trusted: (run: Run) => boolean,
): CoolantRuns | undefined {
  const rows = data.runs.flatMap((run, i) => (run.coolant_C === undefined ? [] : [i]));
  const known = rows.filter((i) => trusted(data.runs[i]));
  if (known.length === 0 || rows.length < 2) return undefined;
  const above = (i: number) => (data.runs[i].coolant_C as number) - data.runs[i].ambient_C;
  const typical = median(known.map((i) => above(i) / data.base_W[i]));
  if (!(typical > 0)) return undefined;
  const q = data.more.get('q');
  const middle_W = Math.exp(known.reduce((sum, i) => sum + Math.log(data.base_W[i]), 0) / known.length);
  const m = rows.length;
  const departure = new Float64Array(m);
  const offset = bench.instruments.ambient_temperature.systematic_K;
  const noise = new Float64Array(m);
  const slopes = new Float64Array(m * SLOPES.length);
  const inSample = new Float64Array(m);
  rows.forEach((i, a) => {
    const usual_K = typical * data.base_W[i];
    const fan = Math.log(data.speed[i]);
    const all = [1, fan, fan * fan, Math.log(data.base_W[i] / middle_W), Math.log(q?.[i] ?? 1)];
    departure[a] = above(i) - usual_K;
    SLOPES.forEach(({ middle, spread }, k) => {
      departure[a] -= middle * all[k] * usual_K;
      slopes[a * SLOPES.length + k] = spread * all[k] * usual_K;
    });
    inSample[a] = SAMPLE_SHARE * usual_K;
    noise[a] = READING_K ** 2 + (RUN_SHARE * usual_K) ** 2;
  });
  const inSession = new Float64Array(m).fill(Math.SQRT2 * offset);
  const among = (more: number) =>
    new Readings(
      departure,
      new CovarianceLayout(
        m,
        [
          [
            grouped(
              Int32Array.from(rows, (i) => data.session[i]),
              inSession,
            ),
            grouped(
              Int32Array.from(rows, (i) => data.sample[i]),
              inSample,
            ),
          ],
        ],
        { noise: noise.map((variance) => variance + more), known: { z: slopes, columns: SLOPES.length } },
      ),
      Float64Array.of(1),
    );
  const at = known.map((i) => rows.indexOf(i));
  const spread = widened(among(0).among(at), at, departure);
  const share =
    known.reduce((sum, i) => sum + above(i), 0) / known.reduce((sum, i) => sum + data.rise_K[i], 0);
  return { rows, runs: rows.map((i) => data.runs[i]), readings: among(spread), share };
}

/** What a thermometer that scatters more than a good one adds to the variance of a reading, K²: the trusted runs tell, each by those before it. */
function widened({ pulled }: Among, at: readonly number[], departure: Float64Array): number {
  const squares = at.reduce((sum, a, r) => sum + departure[a] * pulled[r], 0);
  const stretch = (READING_BELIEF + squares) / (READING_BELIEF + at.length);
  return READING_K ** 2 * Math.max(0, stretch - 1);
}

/** The coolant of a block of runs as the others' coolant sees it. */
export interface CoolantLeftOut {
  /** Which runs of the block have a reading. */
  readonly at: readonly number[];
  readonly residual_K: Float64Array;
  /** Cholesky factor of its covariance. */
  readonly factor: Float64Array;
}

/**
 * @param block  rows of the cooler's runs
 * @returns undefined where the block or those who judge it have no reading
 */
export function coolantLeftOut(
  coolant: CoolantRuns | undefined,
  block: readonly number[],
  trusted: (run: Run) => boolean,
): CoolantLeftOut | undefined {
  if (!coolant) return undefined;
  const { rows, runs, readings } = coolant;
  const at = block.flatMap((row, b) => (rows.includes(row) ? [b] : []));
  const own = at.map((b) => rows.indexOf(block[b]));
  const among = rows.flatMap((row, a) => (block.includes(row) || trusted(runs[a]) ? [a] : []));
  if (own.length === 0 || among.length === own.length) return undefined;
  return { at, ...deleted(readings, own, among) };
}

/**
 * How well the coolant's share of a fault is known, as a share of what the source shows (assumptions): nothing of the paste or of the
 * source's sensor gets into the coolant; less air moves it as much as the source; of a pump the nodes hold most.
 */
const SHARE_ERROR: Record<Cause, number> = {
  interface: 0.03,
  airflow: 0.07,
  leak: 0.15,
  sensor: 0.03,
  'pipe-limit': 0.05,
  pump: 0.15,
  unexplained: 0,
};

/** For each size of a cause, the log likelihood of the coolant's readings, less that with nothing wrong. */
export function coolantLogs(
  coolant: CoolantLeftOut,
  left: LeftOut,
  cause: Cause,
  sized: readonly SizedFault[],
): Float64Array {
  const { at } = coolant;
  const m = at.length;
  const loose = wider(coolant, (a) => (SHARE_ERROR[cause] * left.residual_K[at[a]]) ** 2);
  const shift = new Float64Array(m);
  const scaled = coolant.residual_K.slice();
  solveLower(loose.factor, m, scaled);
  let last: Float64Array | undefined;
  let cross = 0;
  let own = 0;
  // A pump has thousands of nodes, so this is a plain loop; those that share their shift share its solution.
  const logs = new Float64Array(sized.length);
  for (let k = 0; k < sized.length; k++) {
    const node = sized[k];
    const coolant_K = node.coolant_K ?? node.shift_K;
    if (coolant_K !== last) {
      last = coolant_K;
      const scale = scaleOn(left.block, node);
      for (let a = 0; a < m; a++) shift[a] = scale * coolant_K[left.block[at[a]]];
      solveLower(loose.factor, m, shift);
      cross = 0;
      own = 0;
      for (let a = 0; a < m; a++) {
        cross += scaled[a] * shift[a];
        own += shift[a] * shift[a];
      }
    }
    const share = node.coolant_share;
    logs[k] = loose.log + share * cross - (share * share * own) / 2;
  }
  return logs;
}

/** Size of what is unexplained in the coolant, K (an assumption). */
const UNEXPLAINED_K = 2;

/** What nobody has thought of leaves the coolant alone, or does not: half and half. */
export function coolantUnexplained(coolant: CoolantLeftOut): number {
  return Math.log((1 + Math.exp(Math.min(wider(coolant, () => UNEXPLAINED_K ** 2).log, 600))) / 2);
}

/** The covariance with more variance in each reading, and the log of what that does to the density of the readings. */
function wider(
  { residual_K, factor }: CoolantLeftOut,
  more: (a: number) => number,
): { factor: Float64Array; log: number } {
  const m = residual_K.length;
  const wide = new Float64Array(m * m);
  for (let a = 0; a < m; a++) {
    for (let b = 0; b <= a; b++) {
      for (let k = 0; k <= b; k++) wide[a * m + b] += factor[a * m + k] * factor[b * m + k];
    }
    wide[a * m + a] += more(a);
  }
  if (!cholesky(wide, m)) return { factor, log: 0 };
  const log =
    (squaresOf(residual_K, factor) - squaresOf(residual_K, wide)) / 2 +
    (logDeterminant(factor, m) - logDeterminant(wide, m)) / 2;
  return { factor: wide, log };
}

/** Squared Mahalanobis distance of a residual, by the Cholesky factor of its covariance. */
function squaresOf(residual: Float64Array, factor: Float64Array): number {
  const scaled = residual.slice();
  solveLower(factor, scaled.length, scaled);
  return scaled.reduce((sum, value) => sum + value * value, 0);
}
