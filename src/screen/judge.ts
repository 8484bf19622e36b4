import type { Bench, Run } from '../bench/bench.ts';
import { groupedBy } from '../bench/grouped.ts';
import type { BenchPosterior } from '../fit/bench-posterior.ts';
import { type CoolerRuns, coolerRuns } from '../fit/cooler-runs.ts';
import { largest } from '../numerics/extremes.ts';
import { logSum } from '../numerics/log-weights.ts';
import { dot } from '../numerics/matrix.ts';
import { type CauseShifts, causeShifts, type Evidence, evidenceOf } from './causes.ts';
import { type CoolantLeftOut, type CoolantRuns, coolantLeftOut, coolantRuns } from './coolant.ts';
import {
  type JointRuns,
  jointRuns,
  type LeftOut,
  leaveOut,
  readingVariances,
  testAlong,
} from './left-out.ts';
import { type RecordedPump, recordedPump } from './pump.ts';
import type { Cause } from './sized-fault.ts';
import { deletedP } from './verdict-of.ts';

/** A mount or a single run as the rest of the bench sees it. */
export interface Judgement {
  readonly cooler: string;
  /** The runs left out together. */
  readonly runs: readonly Run[];
  /** For this one alone, the directions in which it was tested paid for. */
  readonly p: number;
  /** Deleted residual of each of its runs, K. */
  readonly residual_K: readonly number[];
  /** Standard uncertainty of each, K. */
  readonly u_K: readonly number[];
  /** Log odds that something is wrong, from the source's readings and the best explanation, prior included. */
  readonly evidence: number;
  /** Chances of the causes, given that something is wrong, the coolant's readings included; they add to 1. */
  readonly causes: ReadonlyMap<Cause, number>;
  /** Likely size of each cause, in the cause's unit. */
  readonly sizes: ReadonlyMap<Cause, number>;
  /** The run that most likely is wrong alone, and the log odds of that. */
  readonly lone: { readonly run: Run; readonly evidence: number };
  /** Views under the formulas, for whoever asks what another run would tell. */
  readonly views: readonly View[];
  /** The coolant of its runs, where it and that of other runs was logged. */
  readonly coolant: CoolantLeftOut | undefined;
  /** What the sheet says of the pump. */
  readonly pump: RecordedPump | undefined;
}

/** A block under one formula. */
export interface View {
  readonly left: LeftOut;
  readonly shifts: readonly CauseShifts[];
}

/** Everything needed to judge the runs of one cooler. */
export interface JudgedCooler {
  readonly cooler: string;
  readonly data: CoolerRuns;
  readonly curves: readonly { readonly joint: JointRuns; readonly shifts: readonly CauseShifts[] }[];
  /** The coolant's readings, where they were logged. */
  readonly coolant: CoolantRuns | undefined;
}

/**
 * Prepares the coolers of a bench for judging.
 *
 * @param bench  with all runs
 * @param clean  posterior of the bench without its suspects
 * @param trusted  runs that are no suspects
 */
export function judgedCoolers(
  bench: Bench,
  clean: BenchPosterior,
  trusted: (run: Run) => boolean = () => true,
): JudgedCooler[] {
  const runsOf = groupedBy(
    bench.runs.filter(({ source }) => source === clean.source),
    (run) => run.cooler,
  );
  return clean.coolers.flatMap((cooler) => {
    const own = runsOf.get(cooler.data.cooler.cooler) ?? [];
    const data = coolerRuns(bench, cooler.data.cooler, clean.source, own);
    if (!data) return [];
    const coolant = coolantRuns(bench, data, trusted);
    const curves = jointRuns(clean, cooler, data).map((joint) => ({
      joint,
      shifts: causeShifts(joint, cooler.typical_K_per_W, coolant?.share),
    }));
    return [{ cooler: data.cooler.cooler, data, curves, coolant }];
  });
}

/** The same coolers under other scatters, each once it is asked for; what the faults would do is as before. */
export function withScatter(coolers: readonly JudgedCooler[], posterior: BenchPosterior): JudgedCooler[] {
  const variances = readingVariances(posterior);
  return coolers.map((before) => {
    const { cooler, data, coolant } = before;
    let curves: JudgedCooler['curves'] | undefined;
    return {
      cooler,
      data,
      coolant,
      get curves() {
        curves ??= before.curves.map(({ joint, shifts }) => ({
          joint: { ...joint, readings: joint.readings.under(variances) },
          shifts,
        }));
        return curves;
      },
    };
  });
}

/**
 * Judges some runs of one cooler together, by all trusted others.
 *
 * @param trusted  runs that may judge
 * @param isBrief  p and residuals alone, without evidence for causes
 */
export function judge(
  clean: BenchPosterior,
  cooler: JudgedCooler,
  runs: readonly Run[],
  trusted: (run: Run) => boolean,
  isBrief = false,
): Judgement {
  const { data, curves } = cooler;
  const block = data.runs.flatMap((run, i) => (runs.includes(run) ? [i] : []));
  const coolant = coolantLeftOut(cooler.coolant, block, trusted);
  const pump = recordedPump(
    runs,
    data.runs.filter((run) => !runs.includes(run) && trusted(run)),
  );
  const residual_K = block.map(() => 0);
  const variance = block.map(() => 0);
  const views: View[] = [];
  let p = 0;
  for (const { joint, shifts } of curves) {
    const left = leaveOut(joint, block, trusted);
    views.push({ left, shifts });
    left.residual_K.forEach((r, b) => {
      residual_K[b] += joint.weight * r;
      for (let k = 0; k <= b; k++) variance[b] += joint.weight * left.factor[b * block.length + k] ** 2;
    });
    p += joint.weight * pOf(clean, left, block.length === 1 ? [] : shifts);
  }
  const evidence = isBrief
    ? []
    : views.map(({ left, shifts }) => evidenceOf(left, shifts, coolant, pump?.isLow));
  const { lone, ...found } = underAll(
    evidence,
    curves.map(({ joint }) => Math.log(joint.weight)),
    block.length,
  );
  const likeliest = lone.indexOf(largest(lone));
  return {
    cooler: cooler.cooler,
    runs: block.map((i) => data.runs[i]),
    p: Math.min(1, p),
    residual_K,
    u_K: variance.map(Math.sqrt),
    ...found,
    lone: { run: data.runs[block[likeliest]], evidence: lone[likeliest] },
    views,
    coolant,
    pump,
  };
}

/**
 * The evidence under all formulas together, each with its weight: of the whole, the chances of the causes, each cause's size under the
 * formula that speaks most for it, and of each run that it alone is wrong.
 */
function underAll(
  evidence: readonly Evidence[],
  logWeights: readonly number[],
  runs: number,
): Pick<Judgement, 'evidence' | 'causes' | 'sizes'> & { lone: number[] } {
  const byCause = new Map<Cause, { log: number; withCoolant: number; size: number }[]>();
  evidence.forEach(({ cause }, c) => {
    for (const [name, { log, withCoolant, size }] of cause) {
      const weighted = { log: logWeights[c] + log, withCoolant: logWeights[c] + withCoolant, size };
      byCause.set(name, [...(byCause.get(name) ?? []), weighted]);
    }
  });
  const causes = [...byCause];
  const logs = causes.map(([, all]) => logSum(all.map((one) => one.withCoolant)));
  const sum = logSum(logs);
  const likelier = (a: { withCoolant: number }, b: { withCoolant: number }) => b.withCoolant > a.withCoolant;
  return {
    evidence: logSum(causes.map(([, all]) => logSum(all.map((one) => one.log)))),
    causes: new Map(causes.map(([cause], k) => [cause, Math.exp(logs[k] - sum)])),
    sizes: new Map(
      causes.map(([cause, all]) => [cause, all.reduce((a, b) => (likelier(a, b) ? b : a)).size]),
    ),
    lone: Array.from({ length: runs }, (_, b) =>
      logSum(evidence.map(({ lone }, c) => logWeights[c] + lone[b])),
    ),
  };
}

/** Two patterns that point this nearly the same way are one test. Chosen: 11 degrees. */
const SAME_DIRECTION = 0.98;

/** The least p over the directions, times their number; for a single run there is one direction. */
function pOf(clean: BenchPosterior, left: LeftOut, shifts: readonly CauseShifts[]): number {
  const m = left.block.length;
  const kept: Float64Array[] = [];
  const candidates =
    shifts.length === 0
      ? [new Float64Array(m).fill(1)]
      : shifts.flatMap((one) =>
          one.directions.map((shift) => Float64Array.from(left.block, (i) => shift[i])),
        );
  let least = 1;
  for (const direction of candidates) {
    if (!direction.some((value) => Math.abs(value) > 1e-6)) continue;
    if (kept.some((other) => Math.abs(alignment(direction, other)) > SAME_DIRECTION)) continue;
    kept.push(direction);
    const { t, freedom } = testAlong(clean, left, direction);
    least = Math.min(least, deletedP(t, freedom));
  }
  return Math.min(1, least * Math.max(1, kept.length));
}

/** Cosine of the angle between two patterns. */
function alignment(a: Float64Array, b: Float64Array): number {
  return dot(a, b) / Math.sqrt(dot(a, a) * dot(b, b));
}
