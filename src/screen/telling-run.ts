import type { Bench, Run } from '../bench/bench.ts';
import { isZeroLoad } from '../bench/run.ts';
import type { BenchTime } from '../design/bench-time.ts';
import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { READING } from '../fit/components.ts';
import { type CoolerRuns, coolerRuns, relativeSpeed } from '../fit/cooler-runs.ts';
import { softmax } from '../numerics/log-weights.ts';
import { isWithinReach } from '../predict/reachable-load.ts';
import { riseDistributions } from '../predict/rise-distribution.ts';
import type { NamedCause } from './causes.ts';
import { type CauseShifts, causeShifts, evidenceOf, sizeWeights } from './causes.ts';
import { type CoolantRuns, coolantLeftOut, coolantRuns } from './coolant.ts';
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
  const healthy = own.filter((run) => clean.isTrusted(run) && !judged.runs.includes(run));
  const isPump = first === 'pump' || second === 'pump';
  const candidates = candidatesFor(bench, judged, posterior, time, isPump ? healthy : undefined).filter(
    (one) => isAllowed(clean.posterior, posterior, judged, one),
  );
  const coolant_C = healthy.find((run) => run.coolant_C !== undefined)?.coolant_C;
  const planned = candidates.map((one) => plannedRun(one, mounted, posterior.typical_K_per_W, coolant_C));
  const trial = trialOf(bench, clean, judged, posterior, own, planned);
  if (!trial) return null;
  let best: (Outcome & { candidate: Candidate }) | undefined;
  candidates.forEach((candidate, k) => {
    const outcome = outcomeOf(candidate, planned[k], [first, second], trial);
    if (outcome && isBetter(outcome.ratio, candidate.minutes, best)) best = { ...outcome, candidate };
  });
  if (!best) return null;
  const { candidate, apart_K, scatter_K, ratio } = best;
  return {
    between: [first, second],
    cooler: mounted.cooler,
    sample: mounted.sample,
    source: mounted.source,
    ...candidate,
    pump_rpm: candidate.pump_rpm ?? null,
    coolant: candidate.coolant ?? false,
    apart_K: Math.abs(apart_K),
    scatter_K,
    why: sentence(candidate, first, second, apart_K, ratio),
  };
}

/** Whether a run of this ratio and time is to be chosen: the quickest that tells, else the one that tells most. */
function isBetter(ratio: number, minutes: number, best?: { ratio: number; candidate: Candidate }): boolean {
  if (!best) return true;
  const [tells, told] = [ratio >= TELLING, best.ratio >= TELLING];
  if (tells !== told) return tells;
  if (!tells) return ratio > best.ratio;
  return minutes < best.candidate.minutes || (ratio > best.ratio && minutes <= best.candidate.minutes);
}

/** The candidate as a run on the strange mount, or on a new one; its reading is only a placeholder. */
function plannedRun(one: Candidate, mounted: Run, K_per_W: number, coolant_C: number | undefined): Run {
  const power_W = Math.max(one.power_W, LEAST_LOAD_W);
  return {
    ...mounted,
    pump_rpm: one.pump_rpm ?? mounted.pump_rpm,
    coolant_C: one.coolant ? coolant_C : undefined,
    run: 'planned',
    mount: one.remount ? 'planned' : mounted.mount,
    power_W,
    fan_rpm: one.fan_rpm,
    source_C: mounted.ambient_C + power_W * K_per_W,
  };
}

/** What the runs so far and the planned ones are judged by, under every formula. */
interface Trial {
  readonly data: CoolerRuns;
  readonly formulas: readonly Formula[];
  readonly coolant: CoolantRuns | undefined;
  /** Scatter of one reading, K. */
  readonly reading_K: number;
  /** Runs that are in order. */
  readonly isTrusted: (run: Run) => boolean;
  /** Runs that there are. */
  readonly isRun: (run: Run) => boolean;
}

/** The runs of a cooler with the planned ones among them, and the evidence for each cause of the strange mount. */
function trialOf(
  bench: Bench,
  clean: CleanBench,
  judged: Judgement,
  posterior: CoolerPosterior,
  own: readonly Run[],
  planned: readonly Run[],
): Trial | undefined {
  const data = coolerRuns(bench, posterior.data.cooler, judged.runs[0].source, [...own, ...planned]);
  if (!data) return undefined;
  const block = data.runs.flatMap((run, i) => (judged.runs.includes(run) ? [i] : []));
  const isTrusted = (run: Run) => clean.isTrusted(run) && !planned.includes(run);
  const isRun = (run: Run) => isTrusted(run) || judged.runs.includes(run);
  const coolant = coolantRuns(bench, data, isTrusted);
  const seen = coolantLeftOut(coolant, block, isTrusted);
  const formulas = jointRuns(clean.posterior, posterior, data).map((joint): Formula => {
    const shifts = causeShifts(joint, posterior.typical_K_per_W, coolant?.share);
    const left = leaveOut(joint, block, isTrusted);
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
  if (formulas.length === 0) return undefined;
  return { data, formulas, coolant, reading_K: clean.posterior.scatter.sigma[READING], isTrusted, isRun };
}

/** What a planned run would show of two causes. */
interface Outcome {
  /** The first cause's reading less the second's, K; for a pump in the coolant the mean distance. */
  readonly apart_K: number;
  readonly scatter_K: number;
  /** Distance in standard deviations; `TELLING` and more tells. */
  readonly ratio: number;
}

/**
 * How far apart two causes put the reading of a planned run, and by what it would scatter: as the others leave it open, and by the size of
 * the fault. A change of the pump's speed is foretold by those formulas alone that know the pump.
 */
function outcomeOf(
  candidate: Candidate,
  planned: Run,
  [first, second]: readonly [Cause, Cause],
  { data, formulas, coolant, reading_K, isTrusted, isRun }: Trial,
): Outcome | undefined {
  const isKnown = ({ joint }: Formula) => joint.fitted.curve.model.program.inputs.includes('q');
  const asked = candidate.pump_rpm === undefined ? formulas : formulas.filter(isKnown);
  if (asked.length === 0) return undefined;
  const row = data.runs.indexOf(planned);
  const isOff = isZeroLoad(candidate);
  const [a, b] = [first, second].map((cause) => predicted(cause, row, candidate, isOff, asked));
  if (candidate.coolant) {
    const other = first === 'pump' ? b : a;
    const read_K = coolantLeftOut(coolant, [row], isTrusted)?.factor[0] ?? Number.POSITIVE_INFINITY;
    const scatter_K = Math.sqrt(read_K ** 2 + other.variance);
    const { apart_K, telling } = pumpInCoolant(row, other.mean, scatter_K, asked);
    return { apart_K, scatter_K, ratio: (TELLING * telling) / MOSTLY };
  }
  const total = asked.reduce((sum, { joint }) => sum + joint.weight, 0);
  const read_K = isOff
    ? reading_K
    : asked.reduce(
        (sum, { joint }) => sum + (joint.weight / total) * leaveOut(joint, [row], isRun).factor[0],
        0,
      );
  const scatter_K = Math.sqrt(read_K ** 2 + Math.max(a.variance, b.variance));
  const apart_K = a.mean - b.mean;
  return { apart_K, scatter_K, ratio: Math.abs(apart_K) / scatter_K };
}

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

/**
 * Runs that might tell: the mount as it stands at the cooler's loads, half the highest load and three speeds, with the heater off, and fresh
 * paste at the strangest run's conditions. Where a pump is in question (`healthy` given: the cooler's runs on mounts that are well) also the
 * coolant's reading where the mount has none, which can be foretold only where others have one, and the other speeds that its pump was run at.
 */
function candidatesFor(
  bench: Bench,
  { cooler, runs, residual_K }: Judgement,
  { data }: CoolerPosterior,
  time: BenchTime,
  healthy: readonly Run[] | undefined,
): Candidate[] {
  const { fan_max_rpm } = data.cooler;
  const minutes = time.settle_min(data.cooler);
  const loads = bench.runs
    .filter((run) => run.cooler === cooler && !isZeroLoad(run))
    .map((run) => Math.round(run.power_W / 5) * 5);
  const least = bench.coolers.find((one) => one.cooler === cooler)?.fan_min_rpm ?? 0.4 * fan_max_rpm;
  const speeds = [fan_max_rpm, 0.75 * fan_max_rpm, Math.max(0.5 * fan_max_rpm, least)].map(Math.round);
  const standing = [...new Set([...loads, Math.round(Math.max(...loads) / 2)])].flatMap((power_W) =>
    [...new Set(fan_max_rpm > 0 ? speeds : [0])].map((fan_rpm) => ({ power_W, fan_rpm })),
  );
  const at = ({ power_W, fan_rpm }: Run) => ({ power_W: Math.round(power_W), fan_rpm: Math.round(fan_rpm) });
  const strangest = largestBy(runs, (run) => Math.abs(residual_K[runs.indexOf(run)]));
  const heaviest = largestBy(runs, ({ power_W }) => power_W);
  const isRead = [healthy ?? [], runs].map((all) => all.some((run) => run.coolant_C !== undefined));
  const pumps = new Set(healthy?.flatMap(({ pump_rpm }) => pump_rpm ?? []));
  pumps.delete(heaviest.pump_rpm as number);
  return [
    ...[...standing, { power_W: 0, fan_rpm: fan_max_rpm }].map((one) => ({
      ...one,
      remount: false,
      minutes,
    })),
    { ...at(strangest), remount: true, minutes: minutes + time.remount_min },
    ...(isRead[0] && !isRead[1] ? [{ ...at(heaviest), remount: false, minutes, coolant: true }] : []),
    ...[...pumps].map((pump_rpm) => ({ ...at(heaviest), remount: false, minutes, pump_rpm })),
  ];
}

/** The one with the largest value; the first of equals. */
function largestBy<T>(all: readonly T[], value: (one: T) => number): T {
  return all.reduce((a, b) => (value(b) > value(a) ? b : a));
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
  const weights = softmax(seen.map((one) => one.log));
  for (let f = 0; f < seen.length; f++) {
    const { share, sized } = seen[f];
    for (let k = 0; k < sized.length; k++) yield { chance: weights[f] * share[k], node: sized[k] };
  }
}

/** What a fault of this size does to the coolant's reading at a row, K. */
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

/** What to run and what it would show, for people. */
function sentence(candidate: Candidate, first: Cause, second: Cause, apart: number, ratio: number): string {
  const surely = ratio >= TELLING ? '' : `, though one reading will probably not be enough`;
  if (candidate.coolant) {
    const other = first === 'pump' ? second : first;
    return `read the coolant on the mount as it stands, ${candidate.power_W} W at ${candidate.fan_rpm} rpm: ${NAMES.pump} would put it ${apart.toFixed(1)} K from where ${NAMES[other]} does, higher behind the plate, lower before it${surely}`;
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
