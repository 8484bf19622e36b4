import type { Bench, Run } from '../bench/bench.ts';
import { groupedBy } from '../bench/grouped.ts';
import { mountKey } from '../bench/mounts.ts';
import { isSame, isSameCondition, isZeroLoad } from '../bench/run.ts';
import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { coolerRuns } from '../fit/cooler-runs.ts';
import { largest } from '../numerics/extremes.ts';
import { logSum } from '../numerics/log-weights.ts';
import { jointRises } from '../predict/joint-rises.ts';
import { readingPoint } from '../predict/rise-point.ts';

import { isTooFast } from './gross.ts';

/** A slip of the pen that would explain a run. */
export interface TypingError {
  kind:
    | 'digits exchanged'
    | 'digit dropped'
    | 'digit doubled'
    | 'decimal point moved'
    | 'columns exchanged'
    | 'ambient copied'
    | 'entered twice';
  /** Where it was made; of two columns exchanged the first. */
  column: 'power_W' | 'fan_rpm' | 'source_C' | 'ambient_C' | 'run';
  typed: number | string;
  /** What was probably meant; the run's other id where it was entered twice; null where nobody can say. */
  meant: number | string | null;
}

const CELLS = ['power_W', 'fan_rpm', 'source_C', 'ambient_C'] as const;
type Cell = (typeof CELLS)[number];

/** How often which slip is made (assumptions; common practice, no source). */
const SHARE = {
  'digits exchanged': 0.2,
  'digit dropped': 0.2,
  'digit doubled': 0.15,
  'decimal point moved': 0.25,
  'columns exchanged': 0.15,
  'ambient copied': 0.05,
} as const;
type Slip = keyof typeof SHARE;

/** Chance of a slip of the pen, given that one run is wrong among good ones of its mount (an assumption). */
const TYPING = 0.3;
/** Chance of a slip in any one run that nothing else accuses (an assumption). */
const ANY_SLIP = 1 / 200;
/** Usual size of what else may be wrong with one run, half-width of a Cauchy distribution, K (an assumption). */
const FAULT_K = 2;
/** A load, a speed, a source or an ambient that the bench has nowhere else is this much less likely to be what was meant. */
const NOWHERE_ELSE = 0.05;
/** A fan that turns faster than it can. Chosen: as good as never, yet not barred. */
const IMPOSSIBLE = 1e-5;
/**
 * A fan that does not stand still turns no slower than its least speed in coolers.csv, less a fifth; where there is none, than this share of its
 * greatest (common practice, no source). Slower is this unlikely.
 */
const SLOWER = { thanLeast: 0.8, thanGreatest: 0.15 };
const HARDLY = 0.02;

/** No heater in copper lives at this (an assumption), °C. */
const HOTTEST_C = 500;
/** Stands for a density that has no number, where a formula ends. */
const LEAST_LOG = -1e6;

/** What may have been meant by the cells of a run. */
interface Meant {
  readonly slip: Slip;
  readonly column: Cell;
  readonly cells: Partial<Record<Cell, number>>;
}

/**
 * The numbers that a slip turns into the one that was typed.
 *
 * @example slipsOf('1201').filter(({ value }) => value === 120.1) // the decimal point moved
 */
export function slipsOf(typed: string): { slip: Slip; value: number }[] {
  const out: { slip: Slip; value: number }[] = [];
  const add = (slip: Slip, text: string) => {
    const value = Number(text);
    if (Number.isFinite(value) && value !== Number(typed) && !out.some((one) => one.value === value))
      out.push({ slip, value });
  };
  for (const power of [-1, 1, -2, 2]) {
    add('decimal point moved', String(Number((Number(typed) * 10 ** power).toPrecision(12))));
  }
  const isDigit = (k: number) => /\d/.test(typed[k] ?? '');
  for (let k = 0; k < typed.length; k++) {
    const next = isDigit(k + 1) ? k + 1 : k + 2;
    if (!isDigit(k) || !isDigit(next)) continue;
    const letters = [...typed];
    [letters[k], letters[next]] = [letters[next], letters[k]];
    add('digits exchanged', letters.join(''));
    if (typed[k] === typed[next]) add('digit doubled', typed.slice(0, next) + typed.slice(next + 1));
  }
  for (let k = 0; k <= typed.length; k++) {
    for (let digit = 0; digit < 10; digit++) add('digit dropped', typed.slice(0, k) + digit + typed.slice(k));
  }
  return out;
}

/** Every reading of a run that one slip explains. */
function meantBy(bench: Bench, run: Run): Meant[] {
  const single = CELLS.flatMap((column) =>
    slipsOf(String(run[column])).map(
      ({ slip, value }): Meant => ({ slip, column, cells: { [column]: value } }),
    ),
  );
  const exchanged = CELLS.flatMap((a, i) =>
    CELLS.slice(i + 1).map(
      (b): Meant => ({ slip: 'columns exchanged', column: a, cells: { [a]: run[b], [b]: run[a] } }),
    ),
  );
  const at = bench.runs.indexOf(run);
  const above = bench.runs[at - 1];
  const copied =
    run.ambient_C === above?.ambient_C || run.ambient_C === run.source_C || run.ambient_C === above?.source_C;
  const setpoint = bench.ambient.setpoint_C;
  const ambient: Meant[] = copied
    ? [-1.5, -0.75, 0, 0.75, 1.5].map((off) => ({
        slip: 'ambient copied',
        column: 'ambient_C',
        cells: { ambient_C: setpoint + off * bench.ambient.tolerance_K },
      }))
    : [];
  return [...single, ...exchanged, ...ambient].filter(({ cells }) => {
    const { power_W, fan_rpm, source_C, ambient_C } = { ...run, ...cells };
    return power_W > 0 && fan_rpm >= 0 && source_C > ambient_C && source_C < HOTTEST_C;
  });
}

/** How far a run agrees with what the bench was set to elsewhere. */
function plannedShare(bench: Bench, run: Run, meant: Run = run): number {
  const others = bench.runs.filter((one) => one !== run);
  const { setpoint_C, tolerance_K } = bench.ambient;
  const isPlanned = [
    others.some((one) => isSame(one.power_W, meant.power_W)),
    others.some((one) => one.cooler === run.cooler && isSame(one.fan_rpm, meant.fan_rpm)),
    Math.abs(meant.ambient_C - setpoint_C) <= 2 * tolerance_K,
    meant.source_C <= 1.25 * largest(others.map((one) => one.source_C)),
  ];
  const share = isPlanned.reduce((product, one) => (one ? product : product * NOWHERE_ELSE), 1);
  const cooler = bench.coolers.find((one) => one.cooler === run.cooler);
  if (!cooler) return share;
  if (isTooFast(cooler, meant)) return share * IMPOSSIBLE;
  const { fan_min_rpm, fan_max_rpm } = cooler;
  const least =
    fan_min_rpm === undefined ? SLOWER.thanGreatest * fan_max_rpm : SLOWER.thanLeast * fan_min_rpm;
  return meant.fan_rpm > 0 && meant.fan_rpm < least ? share * HARDLY : share;
}

/** The slip that explains a run best. */
export interface TypingEvidence extends TypingError {
  /** Chance of any slip, given that something is wrong with this one run. */
  readonly chance: number;
  /** Chance that nothing is wrong with it, given that it is what was typed or meant by a slip. */
  readonly p: number;
}

/**
 * Whether a strange run reads as the others expect once one slip of the pen is taken back.
 *
 * Each reading that one slip explains is held against what the fit without this run expects there; a slip is likelier where what was meant is
 * a load, a speed or an ambient that the bench has elsewhere too.
 *
 * @param posterior  made without this run
 */
export function typingEvidence(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  bench: Bench,
  run: Run,
): TypingEvidence | undefined {
  const meant = meantBy(bench, run);
  const runs = [run, ...meant.map((one): Run => ({ ...run, ...one.cells }))];
  const data = coolerRuns(
    { ...bench, runs: bench.runs.filter((one) => one !== run) },
    cooler.data.cooler,
    run.source,
    runs,
  );
  if (!data) return undefined;
  const points = data.runs.map((_, i) => readingPoint(data, i));
  const formulas = jointRises(posterior, cooler, points);
  const log = runs.map((_, i) => {
    const under = formulas.map(({ weight, mean, variance }) => {
      const value =
        Math.log(weight) - Math.log(variance[i]) / 2 - (data.rise_K[i] - mean[i]) ** 2 / variance[i] / 2;
      return Number.isFinite(value) ? value : LEAST_LOG;
    });
    return logSum(under);
  });
  const planned = runs.map((one) => plannedShare(bench, run, one));
  const total = new Map<Slip, number>();
  meant.forEach(({ slip }, k) => {
    total.set(slip, (total.get(slip) ?? 0) + planned[k + 1]);
  });
  const logs = meant.map(
    ({ slip }, k) => Math.log((SHARE[slip] * planned[k + 1]) / (total.get(slip) as number)) + log[k + 1],
  );
  const best = logs.indexOf(Math.max(...logs));
  if (best < 0) return undefined;
  const { slip, column, cells } = meant[best];
  const any = logSum(logs);
  const middle = formulas.reduce((sum, { weight, mean }) => sum + weight * mean[0], 0);
  const other = -Math.log(FAULT_K * (1 + ((data.rise_K[0] - middle) / FAULT_K) ** 2)) + HALF_LOG_2_OVER_PI;
  const asTyped = Math.log(planned[0]);
  return {
    kind: slip,
    column,
    typed: run[column],
    meant: slip === 'ambient copied' ? null : (cells[column] as number),
    chance: logistic(any - other - asTyped + Math.log(TYPING / (1 - TYPING))),
    p: Math.max(logistic(log[0] + asTyped - any - Math.log(ANY_SLIP)), Number.MIN_VALUE),
  };
}

/** √(2π)/π as a logarithm: what a Cauchy density has that the normal's, without its 1/√(2π), has not. */
const HALF_LOG_2_OVER_PI = Math.log(2 / Math.PI) / 2;

/** Chance from log odds. */
function logistic(logOdds: number): number {
  return 1 / (1 + Math.exp(-logOdds));
}

/** A run that stands in the table twice. */
export interface EnteredTwice {
  readonly run: Run;
  readonly as: Run;
  /** Chance that two different readings on this bench agree in every figure. */
  readonly p: number;
}

/** Share of repeated readings on one mount that agree in a column, at least: scatter of about the resolution (an assumption). */
const SAME_MOUNT = 0.2;
/** Who repeats a condition on a mount by intent does so more than once, in most cases (an assumption). */
const REPEATED_ONCE = 0.5;

/**
 * Runs with the figures of an earlier one on their mount, in which no two readings agree by chance.
 *
 * Loads and speeds are set alike and may well read alike; how often the readings of one cooler at one condition agree, column by column, is
 * seen on the bench's other pairs. Their product is the chance that a pair agrees throughout, were the columns independent.
 */
export function enteredTwice(bench: Bench, source: string): EnteredTwice[] {
  const runs = bench.runs.filter((run) => run.source === source && !isZeroLoad(run));
  const pairs = [...groupedBy(runs, ({ cooler }) => cooler).values()].flatMap((own) =>
    own.flatMap((b, j) =>
      own
        .slice(0, j)
        .filter((a) => isSameCondition(a, b))
        .map((a) => [a, b] as const),
    ),
  );
  const agree = (a: Run, b: Run) => CELLS.map((cell) => a[cell] === b[cell]);
  const isTwice = ([a, b]: readonly [Run, Run]) => agree(a, b).every(Boolean);
  const others = pairs.filter((pair) => !isTwice(pair));
  const share = CELLS.map(
    (_, k) => (others.filter(([a, b]) => agree(a, b)[k]).length + 0.5) / (others.length + 1),
  );
  const chance = share.reduce((product, one) => product * Math.max(one, SAME_MOUNT), 1);
  const repeats = pairs.filter(([a, b]) => mountKey(a) === mountKey(b));
  const p = Math.min(1, repeats.length * chance * (repeats.length === 1 ? REPEATED_ONCE : 1));
  const seen = new Set<Run>();
  return repeats.filter(isTwice).flatMap(([as, run]) => {
    if (seen.has(run)) return [];
    seen.add(run);
    return [{ run, as, p }];
  });
}
