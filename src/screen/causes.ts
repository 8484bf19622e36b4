import type { CoolerRuns } from '../fit/cooler-runs.ts';
import { limitExcess, limitPrior } from '../fit/pipe-limit.ts';
import { curveValues } from '../fit/rise-curve.ts';
import { largest, smallest } from '../numerics/extremes.ts';
import { logSum } from '../numerics/log-weights.ts';
import { cholesky, dot, logDeterminant, solveLower } from '../numerics/matrix.ts';
import { type CoolantLeftOut, coolantLogs, coolantUnexplained } from './coolant.ts';
import { type JointRuns, type LeftOut, logDensityOf } from './left-out.ts';
import { hasLoop, pumpShares } from './pump.ts';
import { type Cause, type SizedFault, scaleOn } from './sized-fault.ts';

/** What may be wrong with a run or a mount. */
export type ScreenedCause =
  | 'interface'
  | 'airflow'
  | 'leak'
  | 'sensor'
  | 'pipe-limit'
  | 'typing'
  | 'unexplained';

/** The same, with the pump of a liquid cooler, which `cause` has no word for and counts as unexplained. */
export type NamedCause = ScreenedCause | 'pump';

export interface CauseShifts {
  readonly cause: Exclude<Cause, 'unexplained'>;
  readonly unit: string;
  readonly sized: readonly SizedFault[];
  /** Patterns at usual sizes: the directions in which a mount is tested. */
  readonly directions: readonly Float64Array[];
}

/**
 * Usual sizes of the faults (common practice, no source): middle and spread of the logarithm.
 *
 * A film of paste two or three times too thick adds about 0.02 K/W on a heater of 30 mm; insulation that has come off doubles the leak; a
 * sensor that has moved in its hole reads a few kelvin off; a fan that fails or is blocked moves about half of its air.
 */
const INTERFACE_K_PER_W = { middle: 0.025, spread: 0.6 };
const SENSOR_K = { middle: 2.5, spread: 0.7 };
const LEAK_W_PER_K = { least: 0.1, most: 0.2, spread: 0.45 };
const AIRFLOW = { low: 0.15, high: 0.95, usual: 0.55, spread: 0.17 };
/** An early limit, as a share of the greatest heat run on the cooler, and the slope beyond it over the resistance (an assumption). */
const EARLY_LIMIT = { low: 0.3, high: 1, usual: [0.55, 0.8] };
const LIMIT_SLOPES = [0.3, 0.55, 1, 1.8, 3.2];
const NODES = 61;
/**
 * On a cooler run at one speed, what less air does comes from the formula's priors alone, which for a radiator may be wrong by half or by twice
 * (assumption).
 */
const UNKNOWN_GAINS = [0.5, 0.7, 1, 1.4, 2];
const ONE_SPEED = 1.1;

/**
 * Patterns of every cause that this cooler can have.
 *
 * @param coolant_share  the coolant's rise over the source's on this cooler, for what changes the heat into it (0 without readings)
 */
export function causeShifts(joint: JointRuns, typical_K_per_W: number, coolant_share = 0): CauseShifts[] {
  const { data, at } = joint;
  const ones = new Float64Array(data.runs.length).fill(1);
  const interfaces = () =>
    logNormalNodes(INTERFACE_K_PER_W, 0, (size) => at.loading_W.map((loading) => loading * size));
  const leak = Math.min(Math.max(joint.leak_W_per_K, LEAK_W_PER_K.least), LEAK_W_PER_K.most);
  const leaks = { middle: leak, spread: LEAK_W_PER_K.spread };
  const offsets = () => logNormalNodes(SENSOR_K, 0, (size) => ones.map(() => size));
  const isLoop = hasLoop(data.cooler, data.runs);
  const hasFan = data.cooler.fan_max_rpm > 0;
  const hasPipes = limitPrior(data.cooler) !== undefined;
  return [
    shiftsOf('interface', 'K/W', [at.loading_W.slice()], interfaces),
    ...(hasFan
      ? [shiftsOf('airflow', '1', [atSpeed(joint, AIRFLOW.usual)], () => airflowNodes(joint, isLoop))]
      : []),
    shiftsOf('leak', 'W/K', [atLeak(joint, leak)], () =>
      logNormalNodes(leaks, coolant_share, (size) => atLeak(joint, size)),
    ),
    // Up or down with the same chance.
    shiftsOf('sensor', 'K', [ones], () => normalised([...offsets(), ...offsets().map(mirrored)])),
    ...(hasPipes ? [pipeLimit(data, typical_K_per_W)] : []),
    // The interface's direction is the pump's too, within what a test can tell.
    ...(isLoop ? [shiftsOf('pump', 'K/W', [], () => pumpNodes(joint))] : []),
  ];
}

/** Sizes are laid out when they are first asked for: most coolers have nothing strange. */
function shiftsOf(
  cause: CauseShifts['cause'],
  unit: string,
  directions: readonly Float64Array[],
  sized: () => readonly SizedFault[],
): CauseShifts {
  let found: readonly SizedFault[] | undefined;
  return {
    cause,
    unit,
    directions,
    get sized() {
      found ??= sized();
      return found;
    },
  };
}

/** Shares of the air that still moves, and of a loop run at one speed also how much more or less than the formula says that does. */
function airflowNodes(joint: JointRuns, isLoop: boolean): SizedFault[] {
  const { low, high, usual, spread } = AIRFLOW;
  const gains = isLoop && hasOneSpeed(joint.data.speed) ? UNKNOWN_GAINS : [1];
  const nodes = evenNodes(low, high, NODES, (share) => atSpeed(joint, share)).flatMap((node) =>
    gains.map((gain) => ({
      ...node,
      shift_K: gain === 1 ? node.shift_K : node.shift_K.map((shift) => gain * shift),
      coolant_share: 1,
      weight: Math.exp(-(((node.size - usual) / spread) ** 2) / 2),
    })),
  );
  return normalised(nodes);
}

/** An early limit of the heat pipes: at a share of the greatest heat run on the cooler, with one of several slopes beyond it. */
function pipeLimit({ base_W }: CoolerRuns, typical_K_per_W: number): CauseShifts {
  const { low, high, usual } = EARLY_LIMIT;
  const most = largest(base_W);
  const beyond = (share: number, slope: number) =>
    Float64Array.from(base_W, (base) =>
      limitExcess(
        { weight: 1, limit_W: share * most, slope_K_per_W: slope * typical_K_per_W, step_K: 0 },
        base,
      ),
    );
  const directions = usual.map((share) => beyond(share, 1));
  return shiftsOf('pipe-limit', 'W', directions, () =>
    LIMIT_SLOPES.flatMap((slope) =>
      evenNodes(low, high, 25, (share) => beyond(share, slope)).map((node) => ({
        ...node,
        size: node.size * most,
        weight: node.weight / LIMIT_SLOPES.length,
      })),
    ),
  );
}

/**
 * Sizes of a slow pump are those of an interface, since neither is known and a size is not to tell one from the other.
 *
 * Behind the plate the coolant's shift falls off with the fan as the source's does, before the plate it hardly does.
 */
function pumpNodes({ data, at }: JointRuns): SizedFault[] {
  return pumpShares(data).flatMap(({ weight, relative, flow, coolant_shares }) => {
    const nodes = logNormalNodes(INTERFACE_K_PER_W, 0, (size) =>
      at.loading_W.map((loading, i) => size * loading * relative[i]),
    );
    return nodes.flatMap((node) => {
      const flat = at.loading_W.map((loading, i) => node.size * loading * flow[i]);
      return coolant_shares.map((share) => ({
        weight: weight * node.weight * share.weight,
        size: node.size,
        shift_K: node.shift_K,
        coolant_share: share.value,
        coolant_K: share.value < 0 ? flat : node.shift_K,
        relative,
      }));
    });
  });
}

/** Whether the cooler was run at one fan speed only, within 10 %. */
function hasOneSpeed(speed: Float64Array): boolean {
  return largest(speed) < ONE_SPEED * smallest(speed);
}

/** What a share of the fan's effect does: the curve at the lesser speed less the curve at the speed read. */
function atSpeed(joint: JointRuns, share: number): Float64Array {
  const { data, fitted, leak_W_per_K, at } = joint;
  const values = curveValues(data.runs.length, fitted.eta.length);
  fitted.curve.evaluate(
    fitted.eta,
    { power_W: data.power_W, speed: data.speed.map((n) => n * share), more: data.more },
    leak_W_per_K,
    values,
  );
  return values.rise_K.map((rise, i) => rise - at.rise_K[i]);
}

/** What more leak does: the curve with it less the curve as it is. */
function atLeak(joint: JointRuns, more_W_per_K: number): Float64Array {
  const { data, fitted, leak_W_per_K, at } = joint;
  const values = curveValues(data.runs.length, fitted.eta.length);
  fitted.curve.evaluate(fitted.eta, data, leak_W_per_K + more_W_per_K, values);
  return values.rise_K.map((rise, i) => rise - at.rise_K[i]);
}

/** The same fault the other way round. */
function mirrored(node: SizedFault): SizedFault {
  return { ...node, size: -node.size, shift_K: node.shift_K.map((shift) => -shift) };
}

/** Sizes from three spreads below to three above the middle, even in their logarithm, with the weights of the normal curve. */
function logNormalNodes(
  { middle, spread }: { middle: number; spread: number },
  coolant_share: number,
  shift: (size: number) => Float64Array,
): SizedFault[] {
  const nodes = Array.from({ length: NODES }, (_, k) => {
    const z = -3 + (6 * k) / (NODES - 1);
    const size = middle * Math.exp(spread * z);
    return { weight: Math.exp(-(z * z) / 2), size, shift_K: shift(size), coolant_share };
  });
  return normalised(nodes);
}

/** Sizes in the middles of `count` equal steps, all with the same weight. */
function evenNodes(
  low: number,
  high: number,
  count: number,
  shift: (size: number) => Float64Array,
): SizedFault[] {
  return normalised(
    Array.from({ length: count }, (_, k) => {
      const size = low + ((high - low) * (k + 0.5)) / count;
      return { weight: 1, size, shift_K: shift(size), coolant_share: 0 };
    }),
  );
}

/** The nodes with weights that add to 1. */
function normalised(nodes: SizedFault[]): SizedFault[] {
  const total = nodes.reduce((sum, node) => sum + node.weight, 0);
  return nodes.map((node) => ({ ...node, weight: node.weight / total }));
}

/**
 * Prior chances, given that something is wrong: the known causes alike, and a rest for what nobody has thought of, half of it for one
 * run gone wrong and half for a mount whose runs all go their own way (an assumption).
 */
const KNOWN_CAUSES = 0.92;
const LONE_RUN = 0.04;
const OWN_WAY = 0.04;
/**
 * Size of what is unexplained: K, on top of four times what the run scatters anyway. Chosen: larger than
 * faults that have a name here.
 */
const UNEXPLAINED_K = 2;

/** Log marginal likelihoods, relative to "nothing wrong", of what may be wrong with a block of runs. */
export interface Evidence {
  /** By cause, prior chance included: from the source alone, and with the coolant. */
  readonly cause: ReadonlyMap<Cause, { log: number; withCoolant: number; size: number }>;
  /** For each run of the block, that it alone is wrong. */
  readonly lone: Float64Array;
}

/**
 * How well the pattern of a fault is known, as a share of its shift: an offset exactly, what the formulas say of less air or more leak only
 * as well as formulas do, and where each pipe of a cooler gives out hardly at all (assumptions).
 */
const PATTERN_ERROR: Record<Cause, number> = {
  interface: 0.06,
  airflow: 0.1,
  leak: 0.1,
  sensor: 0.03,
  'pipe-limit': 0.2,
  // As the interface's: what may be different about a pump is in its nodes.
  pump: 0.06,
  unexplained: 0.06,
};

/** The block with a pattern's own uncertainty added to its covariance, and the log of what that does to its density at zero. */
function loosened(left: LeftOut, cause: Cause): { left: LeftOut; logScale: number } {
  const m = left.block.length;
  const factor = new Float64Array(m * m);
  for (let a = 0; a < m; a++) {
    for (let b = 0; b <= a; b++) {
      for (let k = 0; k <= b; k++) factor[a * m + b] += left.factor[a * m + k] * left.factor[b * m + k];
    }
    factor[a * m + a] += (PATTERN_ERROR[cause] * left.residual_K[a]) ** 2;
  }
  if (!cholesky(factor, m)) return { left, logScale: 0 };
  return {
    left: { ...left, factor },
    logScale: (logDeterminant(left.factor, m) - logDeterminant(factor, m)) / 2,
  };
}

/**
 * The evidence from one block under one curve.
 *
 * @param coolant  what the coolant of the block read, given the others, where it was logged
 * @param pumpIsSlow  the sheet itself says that the pump ran slower than usual
 */
export function evidenceOf(
  left: LeftOut,
  shifts: readonly CauseShifts[],
  coolant?: CoolantLeftOut,
  pumpIsSlow = false,
): Evidence {
  const m = left.block.length;
  const nothing = logDensityOf(left);
  const cause = new Map<Cause, { log: number; withCoolant: number; size: number }>();
  for (const one of shifts) {
    const loose = loosened(left, one.cause);
    const logs = sizeLogs(loose.left, one.sized);
    const both = coolant
      ? coolantLogs(coolant, left, one.cause, one.sized).map((log, k) => log + logs[k])
      : logs;
    const log = logSum(both);
    let size = 0;
    for (let k = 0; k < both.length; k++) {
      if (both[k] - log > NOTHING) size += one.sized[k].size * Math.exp(both[k] - log);
    }
    const given = loose.logScale - nothing + Math.log(KNOWN_CAUSES * priorOf(one.cause, shifts, pumpIsSlow));
    cause.set(one.cause, { log: logSum(logs) + given, withCoolant: log + given, size });
  }
  const loose = loosened(left, 'unexplained');
  const { lone, ownWay } = unexplained(loose.left);
  const given = loose.logScale + logDensityOf(loose.left) - nothing;
  const own = lone.map((value) => value + given + Math.log(LONE_RUN / m));
  const none = logSum([...own, ownWay + given + Math.log(OWN_WAY)]);
  const withCoolant = none + (coolant ? coolantUnexplained(coolant) : 0);
  cause.set('unexplained', { log: none, withCoolant, size: 0 });
  return { cause, lone: own };
}

/**
 * A pump that the sheet says ran slowly is there, and another fault would have to come on top of it (an assumption).
 */
const RECORDED_PUMP = 0.95;

/** All alike, unless the sheet itself accuses the pump. */
function priorOf(cause: Cause, shifts: readonly CauseShifts[], pumpIsSlow: boolean): number {
  if (!pumpIsSlow || !shifts.some((one) => one.cause === 'pump')) return 1 / shifts.length;
  return cause === 'pump' ? RECORDED_PUMP : (1 - RECORDED_PUMP) / (shifts.length - 1);
}

/** Chances of the sizes of one cause, given the block; they add to 1. */
export function sizeWeights(
  left: LeftOut,
  { cause, sized }: CauseShifts,
  coolant?: CoolantLeftOut,
): Float64Array {
  const own = sizeLogs(loosened(left, cause).left, sized);
  const logs = coolant ? coolantLogs(coolant, left, cause, sized).map((log, k) => log + own[k]) : own;
  const all = logSum(logs);
  return Float64Array.from(logs, (log) => Math.exp(log - all));
}

/** log of prior weight times likelihood for each size, up to the constant that all share. */
function sizeLogs(left: LeftOut, sized: readonly SizedFault[]): Float64Array {
  const m = left.block.length;
  const scaled = left.residual_K.slice();
  solveLower(left.factor, m, scaled);
  const shift = new Float64Array(m);
  let last: Float64Array | undefined;
  let squares = 0;
  const logs = new Float64Array(sized.length);
  for (let k = 0; k < sized.length; k++) {
    const { shift_K, weight } = sized[k];
    // Nodes that differ in the coolant alone share their shift.
    if (shift_K !== last) {
      last = shift_K;
      const scale = scaleOn(left.block, sized[k]);
      for (let b = 0; b < m; b++) shift[b] = scale * shift_K[left.block[b]];
      solveLower(left.factor, m, shift);
      squares = 0;
      for (let b = 0; b < m; b++) squares += (scaled[b] - shift[b]) ** 2;
    }
    logs[k] = Math.log(weight) - squares / 2;
  }
  return logs;
}

/** A share of e to this power counts for nothing. */
const NOTHING = -45;

/** Log likelihood ratios for one run with a variance of its own, and for every run with one. */
function unexplained(left: LeftOut): { lone: Float64Array; ownWay: number } {
  const m = left.block.length;
  const scaled = left.residual_K.slice();
  solveLower(left.factor, m, scaled);
  const lone = new Float64Array(m);
  const unit = new Float64Array(m);
  let ownWay = 0;
  for (let b = 0; b < m; b++) {
    unit.fill(0);
    unit[b] = 1;
    solveLower(left.factor, m, unit);
    const information = dot(unit, unit);
    let pull = 0;
    for (let k = 0; k < m; k++) pull += unit[k] * scaled[k];
    const variance = UNEXPLAINED_K ** 2 + 16 / information;
    lone[b] = gainOf(variance, information, pull);
    // The rows of L⁻¹r are independent: the runs one after another, each given those before it.
    const own = left.factor[b * m + b] ** 2;
    ownWay += gainOf(UNEXPLAINED_K ** 2 + 16 * own, 1 / own, scaled[b] / left.factor[b * m + b]);
  }
  return { lone, ownWay };
}

/** log of N(r; 0, S + v·eeᵀ) over N(r; 0, S), with eᵀS⁻¹e and eᵀS⁻¹r. */
function gainOf(variance: number, information: number, pull: number): number {
  const stretch = 1 + variance * information;
  return (variance * pull * pull) / stretch / 2 - Math.log(stretch) / 2;
}
