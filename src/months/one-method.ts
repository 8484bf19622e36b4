import type { Bench, CarriedOver, Run } from '../bench/bench.ts';
import { isZeroLoad, riseOf } from '../bench/run.ts';
import { median } from '../numerics/median.ts';
import { studyOf } from '../study.ts';
import type { MethodBridge } from './method-bridge.ts';
import {
  BRIDGE_PRIOR,
  type BridgeStep,
  bridgeOver,
  bridgeSteps,
  joinedMethods,
  methodName,
  methodsOf,
  shiftAt,
} from './method-bridge.ts';
import { methodOf } from './paired-runs.ts';

/** A bench as if every run had been done under one procedure. */
export interface OneMethod {
  readonly bench: Bench;
  readonly method: string;
  readonly bridges: readonly MethodBridge[];
  readonly warnings: readonly string[];
}

/**
 * The bench with its runs carried over to the procedure of the latest run, by the bridges that coolers run under both make; procedures
 * that nothing joins to it are gathered on the latest of their own.
 *
 * A run under another procedure keeps its ambient and gets the rise that the bridge gives for its own. Its session is kept
 * apart from those of the present procedure, and what the bridge leaves open is an error that all runs carried over it have
 * in common, beside the states of their sessions.
 *
 * @returns the bench itself where it knows one procedure only
 */
export function onOneMethod(bench: Bench): OneMethod {
  return studyOf(bench).once('one method', () => carriedOver(bench));
}

/** The bench with the runs of other methods carried over to the present one by their bridges. */
function carriedOver(bench: Bench): OneMethod {
  const present = presentMethod(bench, methodsOf(bench));
  if (methodsOf(bench).length < 2) return { bench, method: present, bridges: [], warnings: [] };
  const ways = joinedMethods(bench).flatMap((group) => {
    const to = presentMethod(bench, group);
    return group.filter((method) => method !== to).map((method) => bridgeSteps(bench, method, to));
  });
  const bridges = ways.flatMap((steps) => bridgeOver(steps) ?? []);
  if (bridges.length === 0) return { bench, method: present, bridges, warnings: [] };
  const byMethod = new Map(bridges.map((bridge) => [bridge.from, bridge]));
  const runs = bench.runs.map((run): Run => {
    const bridge = byMethod.get(methodOf(run));
    if (!bridge || isZeroLoad(run)) return run;
    const rise_K = riseOf(run);
    return { ...run, source_C: run.source_C + shiftAt(bridge, rise_K).shift_K, session: sessionUnder(run) };
  });
  return {
    bench: { ...bench, runs, carriedOver: carriedBySteps(bench, ways) },
    method: present,
    bridges,
    warnings: bridges.map(
      (bridge) =>
        `runs under ${methodName(bridge.from)} are carried over to ${methodName(bridge.to)}. ${bridge.verdict}`,
    ),
  };
}

/** Name of a run's session once it is carried over. */
function sessionUnder(run: Run): string {
  return `${run.session ?? ''} under ${methodName(methodOf(run))}`.trim();
}

/**
 * What each step of the bridges leaves open, once for all runs that were carried over it: those of two procedures on one way have the rest
 * of that way in common.
 */
function carriedBySteps(bench: Bench, ways: readonly (readonly BridgeStep[])[]): CarriedOver[] {
  const taken = new Map<string, { step: BridgeStep; from: Set<string> }>();
  for (const way of ways) {
    for (const step of way) {
      const name = JSON.stringify([step.from, step.to]);
      const found = taken.get(name) ?? { step, from: new Set() };
      found.from.add(way[0].from);
      taken.set(name, found);
    }
  }
  return Array.from(taken.values(), ({ step, from }) => carriedOverStep(bench, step, from));
}

/**
 * A ratio of rises enters as the resistance that it is of a middling cooler.
 *
 * @param from  procedures of the runs that were carried over it
 */
function carriedOverStep(
  bench: Bench,
  { line, sources }: BridgeStep,
  from: ReadonlySet<string>,
): CarriedOver {
  const own = bench.runs.filter((run) => !isZeroLoad(run) && from.has(methodOf(run)));
  const middle = median(own.map((run) => riseOf(run) / run.power_W));
  return {
    sessions: [...new Set(own.map(sessionUnder))],
    sources,
    before: {
      offset_K: BRIDGE_PRIOR.offset_sd,
      resistance_K_per_W: BRIDGE_PRIOR.ratio_sd * middle,
      covariance: 0,
    },
    after: {
      offset_K: Math.sqrt(line.offsetVariance),
      resistance_K_per_W: Math.sqrt(line.ratioVariance) * middle,
      covariance: line.covariance * middle,
    },
  };
}

/** Of some procedures that of the latest run: by `started` where every run has one, else the last in the file. */
function presentMethod(bench: Bench, among: readonly string[]): string {
  const runs = bench.runs.filter((run) => !isZeroLoad(run) && among.includes(methodOf(run)));
  const last =
    runs.length > 0 && runs.every((run) => run.started !== undefined)
      ? runs.reduce((a, b) => (Date.parse(b.started as string) >= Date.parse(a.started as string) ? b : a))
      : runs[runs.length - 1];
  return last ? methodOf(last) : '';
}
