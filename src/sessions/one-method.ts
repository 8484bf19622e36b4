import type { Bench, Run } from '../bench/bench.ts';
import type { MethodBridge } from '../session-results.ts';
import { bridgeBetween, joinedMethods, methodName, methodsOf, shiftAt } from './method-bridge.ts';
import { methodOf } from './paired-runs.ts';

const known = new WeakMap<Bench, OneMethod>();

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
 * apart from those of the present procedure, so that what a bridge leaves open enters as scatter between sessions.
 *
 * @returns the bench itself where it knows one procedure only
 */
export function onOneMethod(bench: Bench): OneMethod {
  let one = known.get(bench);
  if (!one) {
    one = carriedOver(bench);
    known.set(bench, one);
  }
  return one;
}

function carriedOver(bench: Bench): OneMethod {
  const present = presentMethod(bench, methodsOf(bench));
  if (methodsOf(bench).length < 2) return { bench, method: present, bridges: [], warnings: [] };
  const bridges = joinedMethods(bench).flatMap((group) => {
    const to = presentMethod(bench, group);
    return group.flatMap((method) => {
      const bridge = method === to ? undefined : bridgeBetween(bench, method, to);
      return bridge ? [bridge] : [];
    });
  });
  if (bridges.length === 0) return { bench, method: present, bridges, warnings: [] };
  const byMethod = new Map(bridges.map((bridge) => [bridge.from, bridge]));
  const runs = bench.runs.map((run): Run => {
    const bridge = byMethod.get(methodOf(run));
    if (!bridge || run.power_W <= 0) return run;
    const rise_K = run.source_C - run.ambient_C;
    const session = `${run.session ?? ''} under ${methodName(bridge.from)}`.trim();
    return { ...run, source_C: run.source_C + shiftAt(bridge, rise_K).shift_K, session };
  });
  return {
    bench: { ...bench, runs },
    method: present,
    bridges,
    warnings: bridges.map(
      (bridge) =>
        `runs under ${methodName(bridge.from)} are carried over to ${methodName(bridge.to)}. ${bridge.verdict}`,
    ),
  };
}

/** Of some procedures that of the latest run: by `started` where every run has one, else the last in the file. */
function presentMethod(bench: Bench, among: readonly string[]): string {
  const runs = bench.runs.filter((run) => run.power_W > 0 && among.includes(methodOf(run)));
  const last =
    runs.length > 0 && runs.every((run) => run.started !== undefined)
      ? runs.reduce((a, b) => (Date.parse(b.started as string) >= Date.parse(a.started as string) ? b : a))
      : runs[runs.length - 1];
  return last ? methodOf(last) : '';
}
