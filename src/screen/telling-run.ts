import type { Bench, Run } from '../bench/bench.ts';
import { isZeroLoad } from '../bench/run.ts';
import type { BenchTime } from '../design/bench-time.ts';
import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { coolerRuns, relativeSpeed } from '../fit/cooler-runs.ts';
import { isWithinReach } from '../predict/reachable-load.ts';
import { riseDistributions } from '../predict/rise-distribution.ts';
import type { NamedCause } from './causes.ts';
import { type CauseShifts, causeShifts, evidenceOf, sizeWeights } from './causes.ts';
import { coolantLeftOut, coolantRuns } from './coolant.ts';
import type { Judgement } from './judge.ts';
import { type JointRuns, jointRuns, leaveOut } from './left-out.ts';
import { type Cause, type SizedFault, scaleOn } from './sized-fault.ts';
import type { CleanBench } from './suspects.ts';

/** A run that would tell two causes apart. */
export interface TellingRun {
  between: [NamedCause, NamedCause];
  cooler: string;
  sample: string;
  source: string;
  power_W: number;
  fan_rpm: number;
  /** Speed to set the pump to; null: as it was. */
  pump_rpm: number | null;
  /** Read the coolant as well: it is the coolant's reading that tells. */
  coolant: boolean;
  /** With fresh paste; otherwise on the mount as it stands. */
  remount: boolean;
  minutes: number;
  /** How far apart the two causes put its reading, K, and what it would scatter by, K. */
  apart_K: number;
  scatter_K: number;
  /** A sentence for people. */
  why: string;
}

/**
 * So many standard deviations apart are told apart by one reading. Chosen: a reading held against half the
 * way is then wrong one time in fifteen.
 */
const TELLING = 3;
/** A reading whose shift may be large or small, up or down, tells where it is that far off with this chance. */
const MOSTLY = 0.8;

interface Candidate {
  readonly power_W: number;
  readonly fan_rpm: number;
  readonly remount: boolean;
  readonly minutes: number;
  /** Speed of the pump, where it is not to stay as it is. */
  readonly pump_rpm?: number;
  /** The coolant is read, and its reading is what counts. */
  readonly coolant?: boolean;
}

/**
 * The cheapest next run that would tell the two likeliest causes of a strange mount apart.
 *
 * Tried are loads and speeds on the mount as it stands, the heater off (an offset of the sensor shows then and nothing else does), and
 * fresh paste (an interface goes away with it; a fan, a pump, a sensor or a leak stay). Where a pump is in question also the coolant's
 * reading on the mount as it stands, if other mounts have one to hold it against, and the pump speeds that the cooler was run at. For each, the two causes at their likely sizes say what
 * would be read; the run counts as telling where these lie three standard deviations apart. Of the telling ones it is the one that costs
 * least time, otherwise the one that tells most.
 *
 * @param judged  of the whole mount
 */
export function tellingRun(
  bench: Bench,
  clean: CleanBench,
  judged: Judgement,
  time: BenchTime,
): TellingRun | null {
  // What nobody has thought of predicts nothing, so it is the known causes that are set against each other.
  const [first, second] = [...judged.causes]
    .filter(([cause]) => cause !== 'unexplained')
    .sort((a, b) => b[1] - a[1])
    .map(([cause]) => cause);
  const posterior = clean.posterior.coolers.find((one) => one.data.cooler.cooler === judged.cooler);
  if (!posterior || second === undefined) return null;
  const [mounted] = judged.runs;
  const own = bench.runs.filter((run) => run.source === mounted.source && run.cooler === mounted.cooler);
  const fit = own.filter((run) => clean.isTrusted(run) && !judged.runs.includes(run));
  // What a thermometer in the coolant would show can be foretold only where it was read before.
  const read = fit.find((run) => run.coolant_C !== undefined)?.coolant_C;
  const isPump = first === 'pump' || second === 'pump';
  const candidates = [
    ...candidatesFor(
      bench,
      judged,
      posterior.data.cooler.fan_max_rpm,
      time.settle_min(posterior.data.cooler),
      time.remount_min,
    ),
    ...(isPump ? pumpCandidates(judged, fit, read, time.settle_min(posterior.data.cooler)) : []),
  ].filter((one) => isAllowed(clean.posterior, posterior, judged, one));
  const planned = candidates.map(
    (one, k): Run => ({
      ...mounted,
      pump_rpm: one.pump_rpm ?? mounted.pump_rpm,
      coolant_C: one.coolant ? read : undefined,
      run: `planned-${k}`,
      mount: one.remount ? `planned-${k}` : mounted.mount,
      power_W: Math.max(one.power_W, LEAST_LOAD_W),
      fan_rpm: one.fan_rpm,
      source_C: mounted.ambient_C + Math.max(one.power_W, LEAST_LOAD_W) * posterior.typical_K_per_W,
    }),
  );
  const data = coolerRuns(bench, posterior.data.cooler, mounted.source, [...own, ...planned]);
  const joints = data ? jointRuns(clean.posterior, posterior, data) : [];
  if (!data || joints.length === 0) return null;
  const block = data.runs.flatMap((run, i) => (judged.runs.includes(run) ? [i] : []));
  const others = (run: Run) => clean.isTrusted(run) && !planned.includes(run);
  const coolant = coolantRuns(bench, data, others);
  const seen = coolantLeftOut(coolant, block, others);
  const formulas = joints.map((joint): Formula => {
    const shifts = causeShifts(joint, posterior.typical_K_per_W, coolant?.share);
    const left = leaveOut(joint, block, others);
    const evidence = evidenceOf(left, shifts, seen);
    const causes = shifts.map((one): [Cause, SeenCause] => [
      one.cause,
      {
        ...one,
        log: Math.log(joint.weight) + (evidence.cause.get(one.cause)?.withCoolant ?? 0),
        share: sizeWeights(left, one, seen),
      },
    ]);
    return { joint, block, causes: new Map(causes) };
  });
  let best: (TellingRun & { ratio: number }) | undefined;
  const knowPumps = formulas.filter(({ joint }) => joint.fitted.curve.model.program.inputs.includes('q'));
  candidates.forEach((candidate, k) => {
    const asked = candidate.pump_rpm === undefined ? formulas : knowPumps;
    if (asked.length === 0) return;
    const row = data.runs.indexOf(planned[k]);
    const isOff = isZeroLoad(candidate);
    const total = asked.reduce((sum, { joint }) => sum + joint.weight, 0);
    const reading = () =>
      asked.reduce((sum, { joint }) => {
        const known = (run: Run) =>
          !planned.includes(run) && (clean.isTrusted(run) || judged.runs.includes(run));
        return sum + (joint.weight / total) * leaveOut(joint, [row], known).factor[0];
      }, 0);
    const scatter = candidate.coolant
      ? (coolantLeftOut(coolant, [row], others)?.factor[0] ?? Number.POSITIVE_INFINITY)
      : isOff
        ? clean.posterior.scatter.sigma[READING]
        : reading();
    const under = (cause: Cause) => predicted(cause, row, candidate, isOff, asked);
    const [a, b] = [under(first), under(second)];
    const other = first === 'pump' ? b : a;
    const scatter_K = Math.sqrt(
      scatter ** 2 + (candidate.coolant ? other.variance : Math.max(a.variance, b.variance)),
    );
    const coolant_K = candidate.coolant ? pumpInCoolant(row, other.mean, scatter_K, asked) : undefined;
    const apart_K = coolant_K ? coolant_K.apart_K : Math.abs(a.mean - b.mean);
    const ratio = coolant_K ? (TELLING * coolant_K.telling) / MOSTLY : apart_K / scatter_K;
    const cheaper =
      !best ||
      (ratio >= TELLING && (best.ratio < TELLING || candidate.minutes < best.minutes)) ||
      (ratio > best.ratio && (ratio < TELLING ? best.ratio < TELLING : candidate.minutes <= best.minutes));
    if (!cheaper) return;
    best = {
      between: [first, second],
      cooler: mounted.cooler,
      sample: mounted.sample,
      source: mounted.source,
      power_W: candidate.power_W,
      fan_rpm: candidate.fan_rpm,
      pump_rpm: candidate.pump_rpm ?? null,
      coolant: candidate.coolant ?? false,
      remount: candidate.remount,
      minutes: candidate.minutes,
      apart_K,
      scatter_K,
      why: sentence(candidate, first, second, coolant_K ? apart_K : a.mean - b.mean, ratio),
      ratio,
    };
  });
  if (!best) return null;
  const { ratio: _, ...told } = best;
  return told;
}

const READING = 3;
/** The formulas have no value at no load. */
const LEAST_LOAD_W = 1;

/** Whether a run may be proposed on a mount that reads as much too high as it did. */
function isAllowed(
  bench: BenchPosterior,
  cooler: CoolerPosterior,
  { runs, residual_K }: Judgement,
  { power_W, fan_rpm, remount }: Candidate,
): boolean {
  if (power_W === 0) return true;
  const speed = relativeSpeed(cooler.data.cooler, fan_rpm);
  const [{ mean }] = riseDistributions(bench, cooler, [{ power_W, speed }]);
  const off = remount ? 0 : power_W * Math.max(0, ...runs.map((run, i) => residual_K[i] / run.power_W));
  const raised = { power_W, mean: { ...mean, mean: mean.mean.map((rise_K) => rise_K + off) } };
  return isWithinReach(bench, cooler, raised, runs[0].ambient_C);
}

function candidatesFor(
  bench: Bench,
  judged: Judgement,
  fan_max_rpm: number,
  settle_min: number,
  remount_min: number,
): Candidate[] {
  const { runs } = judged;
  const loads = [
    ...new Set(
      bench.runs
        .filter((run) => run.cooler === judged.cooler && !isZeroLoad(run))
        .map((run) => Math.round(run.power_W / 5) * 5),
    ),
  ];
  const top = Math.max(...loads);
  const least = bench.coolers.find((one) => one.cooler === judged.cooler)?.fan_min_rpm ?? 0.4 * fan_max_rpm;
  const speeds =
    fan_max_rpm > 0
      ? [...new Set([fan_max_rpm, 0.75 * fan_max_rpm, Math.max(0.5 * fan_max_rpm, least)].map(Math.round))]
      : [0];
  const standing = [...loads, Math.round(top / 2)].flatMap((power_W) =>
    speeds.map((fan_rpm) => ({ power_W, fan_rpm, remount: false, minutes: settle_min })),
  );
  const off = { power_W: 0, fan_rpm: fan_max_rpm, remount: false, minutes: settle_min };
  const worst = runs.reduce((a, b, i) =>
    Math.abs(judged.residual_K[i]) > Math.abs(judged.residual_K[runs.indexOf(a)]) ? b : a,
  );
  const fresh = {
    power_W: Math.round(worst.power_W),
    fan_rpm: Math.round(worst.fan_rpm),
    remount: true,
    minutes: settle_min + remount_min,
  };
  return [...new Map([...standing, off, fresh].map((one) => [JSON.stringify(one), one])).values()];
}

/**
 * What can be tried where a pump is in question: the coolant's reading where the mount has none, and the other speeds at which the pump
 * was run on mounts that are well.
 */
function pumpCandidates(
  judged: Judgement,
  fit: readonly Run[],
  read: number | undefined,
  minutes: number,
): Candidate[] {
  const worst = judged.runs.reduce((a, b) => (b.power_W > a.power_W ? b : a));
  const stands = {
    power_W: Math.round(worst.power_W),
    fan_rpm: Math.round(worst.fan_rpm),
    remount: false,
    minutes,
  };
  const speeds = [...new Set(fit.flatMap(({ pump_rpm }) => (pump_rpm === undefined ? [] : [pump_rpm])))];
  const other = speeds.filter((pump_rpm) => pump_rpm !== worst.pump_rpm);
  const isRead = judged.runs.some((run) => run.coolant_C !== undefined);
  return [
    ...(read !== undefined && !isRead ? [{ ...stands, coolant: true }] : []),
    ...other.map((pump_rpm) => ({ ...stands, pump_rpm })),
  ];
}

/** A cause under one formula: its sizes' chances, and the log of its evidence, the formula's weight included. */
interface SeenCause extends CauseShifts {
  readonly log: number;
  readonly share: Float64Array;
}

interface Formula {
  readonly joint: JointRuns;
  /** Rows of the strange mount. */
  readonly block: readonly number[];
  readonly causes: ReadonlyMap<Cause, SeenCause>;
}

/** What a cause at its likely sizes adds to the reading of a planned run, by the formulas under which it is likely. */
function predicted(
  cause: Cause,
  row: number,
  candidate: Candidate,
  isOff: boolean,
  formulas: readonly Formula[],
): { mean: number; variance: number } {
  if (candidate.remount && cause === 'interface') return { mean: 0, variance: 0 };
  if (isOff && cause !== 'sensor') return { mean: 0, variance: 0 };
  const [{ block }] = formulas;
  let mean = 0;
  let square = 0;
  for (const { chance, node } of likelySizes(cause, formulas)) {
    const shift = candidate.coolant
      ? coolantShift(node, row, block)
      : scaleOn(block, node) * node.shift_K[row];
    mean += chance * shift;
    square += chance * shift ** 2;
  }
  return { mean, variance: Math.max(0, square - mean * mean) };
}

/** The sizes of a cause under all formulas, with chances that add to one; none where no formula knows it. */
function* likelySizes(
  cause: Cause,
  formulas: readonly Formula[],
): Generator<{ chance: number; node: SizedFault }> {
  const seen = formulas.flatMap(({ causes }) => causes.get(cause) ?? []);
  const most = Math.max(...seen.map((one) => one.log));
  const weights = seen.map((one) => Math.exp(one.log - most));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  for (let f = 0; f < seen.length; f++) {
    const { share, sized } = seen[f];
    for (let k = 0; k < sized.length; k++) yield { chance: (weights[f] / total) * share[k], node: sized[k] };
  }
}

function coolantShift(node: SizedFault, row: number, block: readonly number[]): number {
  return scaleOn(block, node) * node.coolant_share * (node.coolant_K ?? node.shift_K)[row];
}

/**
 * How far a slow pump puts the coolant's reading from where another cause has it. It is off one way or the other, by where the thermometer
 * sits, so that neither its mean nor its spread says much.
 *
 * @param other_K  shift under the other cause
 * @param scatter_K  standard deviation of the reading under it
 * @returns the mean distance, K, and the chance that it is telling
 */
function pumpInCoolant(
  row: number,
  other_K: number,
  scatter_K: number,
  formulas: readonly Formula[],
): { apart_K: number; telling: number } {
  const [{ block }] = formulas;
  let apart_K = 0;
  let telling = 0;
  for (const { chance, node } of likelySizes('pump', formulas)) {
    const distance = Math.abs(coolantShift(node, row, block) - other_K);
    apart_K += chance * distance;
    if (distance > TELLING * scatter_K) telling += chance;
  }
  return { apart_K, telling };
}

const NAMES: Record<Cause, string> = {
  interface: 'a poor interface',
  airflow: 'too little air',
  leak: 'a larger leak',
  sensor: 'an offset of the sensor',
  'pipe-limit': 'an early pipe limit',
  pump: 'a slow pump',
  unexplained: 'something else',
};

function sentence(candidate: Candidate, first: Cause, second: Cause, apart: number, ratio: number): string {
  const surely = ratio >= TELLING ? '' : `, though one reading will hardly settle it`;
  if (candidate.coolant) {
    const other = first === 'pump' ? second : first;
    return `the coolant read on the mount as it stands, ${candidate.power_W} W at ${candidate.fan_rpm} rpm: ${NAMES.pump} would put it ${apart.toFixed(1)} K from where ${NAMES[other]} does, higher behind the plate, lower before it${surely}`;
  }
  const pump = candidate.pump_rpm === undefined ? '' : `, the pump at ${Math.round(candidate.pump_rpm)} rpm`;
  const how = candidate.remount
    ? `fresh paste, then ${candidate.power_W} W at ${candidate.fan_rpm} rpm`
    : isZeroLoad(candidate)
      ? 'the mount as it stands, heater off and cooled down'
      : `the mount as it stands, ${candidate.power_W} W at ${candidate.fan_rpm} rpm${pump}`;
  const size = `${Math.abs(apart).toFixed(1)} K ${apart > 0 ? 'more' : 'less'}`;
  return `${how}: ${NAMES[first]} would read ${size} than ${NAMES[second]}${surely}`;
}
