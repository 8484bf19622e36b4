import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { countMounts } from '../bench/mounts.ts';
import { isSame, isZeroLoad } from '../bench/run.ts';
import { MOUNT, READING, SAMPLE } from '../fit/components.ts';
import { posteriorOf } from '../fit/posterior-of.ts';
import { largest, smallest } from '../numerics/extremes.ts';

import { studyOf } from '../study.ts';
import { lineWithErrorsInBoth, type PairedLine } from './errors-in-both.ts';
import { methodOf, type PairScatter, pairedCells, pairedValues } from './paired-runs.ts';

/** What turns a rise under one test procedure into one under another: rise under `to` = offset + ratio · rise under `from`. */
export interface MethodBridge {
  from: string;
  to: string;
  /** Procedures between the two where no cooler was run under both. */
  via: string[];
  offset_K: number;
  offset_u_K: number;
  ratio: number;
  ratio_u: number;
  /** Covariance of offset and ratio, K. */
  covariance_K: number;
  /** Coolers run under both, and the conditions at which they were. */
  coolers: string[];
  conditions: number;
  /** χ² over degrees of freedom of the paired values about the line; above 1 the uncertainties are stretched by its root. */
  misfit: number;
  /** What the change adds at a few rises as read under `from`, with standard uncertainty. */
  shifts: { rise_K: number; shift_K: number; u_K: number }[];
  verdict: string;
}

/** A run that would join two procedures. */
export interface BridgingRun {
  cooler: string;
  source: string;
  method: string;
  power_W: number[];
  fan_rpm: number;
}

export interface UnbridgedPair {
  methods: [string, string];
  /** Coolers run under the one and under the other procedure. */
  coolers: [string[], string[]];
  run: BridgingRun;
  verdict: string;
}

/**
 * What is taken for granted of a change of procedure: that it moves a rise by no more than some kelvin and some per cent.
 * Common practice, no source; it decides only what the paired coolers leave open.
 */
export const BRIDGE_PRIOR = { offset_sd: 2, ratio_sd: 0.1 };

/** Names of the procedures in the runs, in order of first appearance; empty for runs that name none. */
export function methodsOf(bench: Bench): string[] {
  return [...new Set(bench.runs.filter((run) => !isZeroLoad(run)).map(methodOf))];
}

/** Name of a procedure for people. */
export function methodName(method: string): string {
  return method === '' ? 'the unnamed method' : `method ${method}`;
}

/** Coolers and sources with at least one condition run under both procedures. */
function sharedBy(bench: Bench, a: string, b: string): { cooler: string; source: string }[] {
  const sources = [...new Set(bench.runs.map((run) => run.source))];
  return bench.coolers.flatMap(({ cooler }) =>
    sources
      .filter((source) => {
        const own = bench.runs.filter((run) => run.cooler === cooler && run.source === source);
        return pairedCells(own, a, b).length > 0;
      })
      .map((source) => ({ cooler, source })),
  );
}

/**
 * The bridge between two procedures from coolers run under both, directly or by way of other procedures: what the steps of
 * `bridgeSteps` make one after the other.
 *
 * Rises under the two are joined by a straight line: an offset (another place for the ambient probe, say) and a ratio (another
 * paste, pressure or duct). Both sides carry the scatter of fittings and readings, and one fitting's effect is common to
 * all loads of its runs, so the line is fitted with errors in both and correlated within a cooler. Where coolers answer to
 * the change more differently than scatter lets them, the uncertainties are stretched (Birge's ratio). One cooler
 * at one load fixes the sum of the two only there; what it leaves open is taken to be within some kelvin and per cent.
 *
 * @returns `undefined` without a step, where nothing joins the two
 * @example bridgeOver(bridgeSteps(bench, 'open', 'boxed'))?.verdict
 */
export function bridgeOver(steps: readonly BridgeStep[]): MethodBridge | undefined {
  if (steps.length === 0) return undefined;
  const [{ from }, { to }] = [steps[0], steps[steps.length - 1]];
  const line = steps.map((step) => step.line).reduce(followedBy);
  const bridge = {
    from,
    to,
    via: steps.slice(1).map((step) => step.from),
    offset_K: line.offset,
    offset_u_K: Math.sqrt(line.offsetVariance),
    ratio: line.ratio,
    ratio_u: Math.sqrt(line.ratioVariance),
    covariance_K: line.covariance,
    coolers: [...new Set(steps.flatMap((step) => step.coolers))],
    conditions: steps.reduce((sum, step) => sum + step.conditions, 0),
    misfit: Math.max(...steps.map((step) => step.misfit)),
  };
  const shifts = [15, 30, 45].map((rise_K) => ({ rise_K, ...shiftAt(bridge, rise_K) }));
  return { ...bridge, shifts, verdict: bridgeVerdict(bridge, shifts[1]) };
}

/** One step of a bridge: two procedures with coolers run under both. */
export interface BridgeStep {
  readonly from: string;
  readonly to: string;
  /** With its uncertainties as stretched. */
  readonly line: PairedLine;
  readonly coolers: readonly string[];
  /** Sources on which those coolers were run. */
  readonly sources: readonly string[];
  readonly conditions: number;
  /** Sum of squares over its degrees of freedom. */
  readonly misfit: number;
}

/**
 * The steps from one procedure to another, in order; none where nothing joins the two.
 *
 * @param scatter  default: the bench's own
 */
export function bridgeSteps(bench: Bench, from: string, to: string, scatter?: PairScatter): BridgeStep[] {
  const path = pathBetween(bench, from, to);
  if (!path || path.length < 2) return [];
  const own = scatter ?? benchScatter(bench);
  return path.slice(1).map((next, k) => stepBetween(bench, path[k], next, own));
}

/** The line between two methods from the coolers run under both. */
function stepBetween(bench: Bench, from: string, to: string, scatter: PairScatter): BridgeStep {
  const shared = sharedBy(bench, from, to);
  const blocks = shared.flatMap(({ cooler, source }) => {
    const values = pairedValues(bench, cooler, source, from, to, scatter);
    return values ? [values] : [];
  });
  const line = lineWithErrorsInBoth(blocks, BRIDGE_PRIOR);
  const misfit = line.freedom > 0 ? line.chiSquared / line.freedom : 0;
  const stretch = Math.max(1, misfit);
  return {
    from,
    to,
    line: {
      ...line,
      offsetVariance: line.offsetVariance * stretch,
      ratioVariance: line.ratioVariance * stretch,
      covariance: line.covariance * stretch,
    },
    coolers: shared.map(({ cooler }) => cooler),
    sources: [...new Set(shared.map(({ source }) => source))],
    conditions: blocks.reduce((sum, block) => sum + block.x.length, 0),
    misfit,
  };
}

/** What a change of procedure adds to a rise as read under `from`, and its standard uncertainty, K. */
export function shiftAt(
  bridge: Pick<MethodBridge, 'offset_K' | 'offset_u_K' | 'ratio' | 'ratio_u' | 'covariance_K'>,
  rise_K: number,
): { shift_K: number; u_K: number } {
  const variance = bridge.offset_u_K ** 2 + (rise_K * bridge.ratio_u) ** 2 + 2 * rise_K * bridge.covariance_K;
  return {
    shift_K: bridge.offset_K + (bridge.ratio - 1) * rise_K,
    u_K: Math.sqrt(Math.max(variance, 0)),
  };
}

/** What a bridge does to a rise, in a sentence. */
function bridgeVerdict(
  bridge: Pick<MethodBridge, 'from' | 'to' | 'via' | 'coolers'>,
  at: { rise_K: number; shift_K: number; u_K: number },
): string {
  const by = bridge.via.length > 0 ? ` by way of ${bridge.via.map(methodName).join(' and ')}` : '';
  const side = at.shift_K >= 0 ? 'more' : 'less';
  return `A cooler with a rise of ${at.rise_K} K under ${methodName(bridge.from)} has ${Math.abs(at.shift_K).toFixed(1)} K ${side} under ${methodName(bridge.to)}${by}, with a standard uncertainty of ${at.u_K.toFixed(1)} K; from ${bridge.coolers.join(', ')}, run under both.`;
}

/** The line that two lines make one after the other. */
function followedBy(first: PairedLine, second: PairedLine): PairedLine {
  const offset = second.offset + second.ratio * first.offset;
  const r2 = second.ratio ** 2;
  return {
    offset,
    ratio: second.ratio * first.ratio,
    offsetVariance:
      second.offsetVariance +
      r2 * first.offsetVariance +
      first.offset ** 2 * second.ratioVariance +
      2 * first.offset * second.covariance,
    ratioVariance: r2 * first.ratioVariance + first.ratio ** 2 * second.ratioVariance,
    covariance:
      r2 * first.covariance +
      first.ratio * second.covariance +
      first.ratio * first.offset * second.ratioVariance,
    chiSquared: first.chiSquared + second.chiSquared,
    freedom: first.freedom + second.freedom,
  };
}

/** Fewest steps from one procedure to another over those joined by a cooler. */
function pathBetween(bench: Bench, from: string, to: string): string[] | undefined {
  const methods = methodsOf(bench);
  if (!methods.includes(from) || !methods.includes(to)) return undefined;
  const before = new Map<string, string | undefined>([[from, undefined]]);
  const queue = [from];
  for (let method = queue.shift(); method !== undefined; method = queue.shift()) {
    if (method === to) break;
    for (const next of methods) {
      if (before.has(next) || sharedBy(bench, method, next).length === 0) continue;
      before.set(next, method);
      queue.push(next);
    }
  }
  if (!before.has(to)) return undefined;
  const path = [to];
  for (let step = before.get(to); step !== undefined; step = before.get(step)) path.unshift(step);
  return path;
}

/** The bench's scatters with each cooler under each procedure a cooler of its own, so that the change does not count as scatter. */
function benchScatter(bench: Bench): PairScatter {
  return studyOf(bench).once('scatter within methods', (): PairScatter => {
    const named = (cooler: string, method: string) => `${cooler}\n${method}`;
    const { sigma } = posteriorOf({
      ...bench,
      runs: bench.runs.map((run) => ({ ...run, cooler: named(run.cooler, methodOf(run)) })),
      coolers: bench.coolers.flatMap((cooler) =>
        methodsOf(bench).map((method) => ({ ...cooler, cooler: named(cooler.cooler, method) })),
      ),
    }).scatter;
    return { sample_K_per_W: sigma[SAMPLE], mount_K_per_W: sigma[MOUNT], reading_K: sigma[READING] };
  });
}

/** Procedures in groups that coolers join, directly or by way of each other. */
export function joinedMethods(bench: Bench): string[][] {
  const groups: string[][] = [];
  for (const method of methodsOf(bench)) {
    const touching = groups.filter((group) =>
      group.some((other) => sharedBy(bench, other, method).length > 0),
    );
    const merged = [...touching.flat(), method];
    for (const group of touching) groups.splice(groups.indexOf(group), 1);
    groups.push(merged);
  }
  return groups;
}

/**
 * Pairs of procedures that nothing joins, one for each two groups that stand apart, with the run that would join them.
 *
 * @example unbridgedPairs(bench).map(({ verdict }) => verdict)
 */
export function unbridgedPairs(bench: Bench): UnbridgedPair[] {
  const groups = joinedMethods(bench);
  const pairs: UnbridgedPair[] = [];
  for (let i = 0; i < groups.length; i++) {
    for (let j = i + 1; j < groups.length; j++) pairs.push(unbridged(bench, groups[i], groups[j]));
  }
  return pairs;
}

/** Why two groups of methods cannot be joined, and the run that would join them soonest. */
function unbridged(bench: Bench, first: readonly string[], second: readonly string[]): UnbridgedPair {
  const candidates = [first, second].flatMap((here, k) => {
    const there = k === 0 ? second : first;
    return here.flatMap((method) => there.map((other) => bestRun(bench, method, other)));
  });
  const best = candidates.reduce((a, b) => (b.merit > a.merit ? b : a));
  const methods: [string, string] = [best.from, best.run.method];
  const coolers: [string[], string[]] = [coolersUnder(bench, methods[0]), coolersUnder(bench, methods[1])];
  return {
    methods,
    coolers,
    run: best.run,
    verdict: `no cooler was run under both ${methodName(methods[0])} and ${methodName(methods[1])} at one condition: run ${inWords(best.run)}`,
  };
}

/** Coolers run with heat under a method. */
function coolersUnder(bench: Bench, method: string): string[] {
  return [
    ...new Set(
      bench.runs.filter((run) => !isZeroLoad(run) && methodOf(run) === method).map((run) => run.cooler),
    ),
  ];
}

/** A run that would bridge, for people. */
function inWords(run: BridgingRun): string {
  const source = run.source === 'heater' ? '' : ` on ${run.source}`;
  const fan = run.fan_rpm > 0 ? ` and ${Math.round(run.fan_rpm)} rpm` : '';
  return `${run.cooler}${source} under ${methodName(run.method)} at ${run.power_W.map(Math.round).join(' and ')} W${fan}`;
}

/**
 * The cooler of one procedure that is best run under the other: the reference cooler where it can be, else the one fitted most
 * often, whose mean is known best; at its least and greatest load, which tell an offset from a ratio.
 */
function bestRun(bench: Bench, from: string, to: string): { from: string; run: BridgingRun; merit: number } {
  let best: { from: string; run: BridgingRun; merit: number } | undefined;
  const loadsOfOther = bench.runs.filter((run) => methodOf(run) === to).map((run) => run.power_W);
  for (const cooler of coolersUnder(bench, from)) {
    const own = bench.runs.filter(
      (run) => run.cooler === cooler && !isZeroLoad(run) && methodOf(run) === from,
    );
    const source = own.some((run) => run.source === 'heater') ? 'heater' : own[0].source;
    const runs = own.filter((run) => run.source === source);
    const speeds = runs.map((run) => run.fan_rpm);
    const fan_rpm = speeds.reduce((a, b) => (count(speeds, b) > count(speeds, a) ? b : a));
    const loads = runs.filter((run) => isSame(run.fan_rpm, fan_rpm)).map((run) => run.power_W);
    const power_W = [...new Set([smallest(loads), largest(loads)])];
    const mounts = countMounts(runs);
    const common = power_W.filter((load) => loadsOfOther.some((other) => isSame(load, other))).length;
    const merit = (cooler === bench.reference_cooler ? 1e6 : 0) + 10 * mounts + common;
    if (!best || merit > best.merit) {
      best = { from, run: { cooler, source, method: to, power_W, fan_rpm }, merit };
    }
  }
  return best as { from: string; run: BridgingRun; merit: number };
}

function count(values: readonly number[], value: number): number {
  return values.filter((other) => isSame(other, value)).length;
}

/** A name as a list of names takes it. */
function quoted(name: string): string {
  return /[",]/.test(name) ? `"${name.replaceAll('"', '""')}"` : name;
}

/**
 * Holds a comparison to coolers whose procedures are joined.
 *
 * @param coolers  those to be ranked
 * @throws BenchError naming two coolers that nothing joins and the run that would
 */
export function requireBridges(bench: Bench, coolers: readonly string[]): void {
  const apart = heldApart(bench, coolers);
  if (apart.length === 0) return;
  const { a, b, between } = apart[0];
  const { verdict, methods } = unbridged(bench, ...between);
  const alike = coolersUnder(bench, methods[0]).filter((cooler) => coolers.includes(cooler));
  const instead =
    alike.length > 1 ? `, or compare within one method: --cooler ${alike.map(quoted).join(',')}` : '';
  throw new BenchError('runs.csv', 1, 1, `${a} and ${b} cannot be ranked: ${verdict}${instead}`);
}

/**
 * Pairs of procedures that nothing joins and that keep some of these coolers apart, with the run that would join them.
 *
 * @param coolers  those to be ranked
 */
export function unbridgedAmong(bench: Bench, coolers: readonly string[]): UnbridgedPair[] {
  const apart = heldApart(bench, coolers);
  const between = new Map(apart.map((one) => [JSON.stringify(one.between), one.between]));
  return Array.from(between.values(), ([first, second]) => unbridged(bench, first, second));
}

/** Whether nothing joins the procedures that two coolers were run under. */
export function areUnbridged(bench: Bench, coolers: readonly string[]): (a: string, b: string) => boolean {
  const apart = new Set(heldApart(bench, coolers).map(({ a, b }) => JSON.stringify([a, b])));
  return (a, b) => apart.has(JSON.stringify([a, b])) || apart.has(JSON.stringify([b, a]));
}

/** Pairs of coolers that were run under procedures which no cooler joins, with the two groups of procedures. */
function heldApart(
  bench: Bench,
  coolers: readonly string[],
): { a: string; b: string; between: [string[], string[]] }[] {
  const groups = methodsOf(bench).length < 2 ? [] : joinedMethods(bench);
  if (groups.length < 2) return [];
  const groupsOf = coolers.map((cooler) =>
    groups.flatMap((group, k) =>
      group.some((method) => coolersUnder(bench, method).includes(cooler)) ? [k] : [],
    ),
  );
  return coolers.flatMap((cooler, i) =>
    coolers.slice(i + 1).flatMap((other, k) => {
      const [a, b] = [groupsOf[i], groupsOf[i + 1 + k]];
      if (a.length === 0 || b.length === 0 || a.some((group) => b.includes(group))) return [];
      return [{ a: cooler, b: other, between: [groups[a[0]], groups[b[0]]] as [string[], string[]] }];
    }),
  );
}
