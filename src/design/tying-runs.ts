import type { Bench, Cooler, Run } from '../bench/bench.ts';
import { coolerByName, countMounts } from '../bench/mounts.ts';
import { isSame, isZeroLoad } from '../bench/run.ts';
import { methodName, unbridgedAmong } from '../months/method-bridge.ts';
import { sessionsOf } from '../months/sessions.ts';
import type { BenchTime } from './bench-time.ts';

/** A fitting that comes before all others, since what it reads ties the rest of the plan to what the bench has. */
export interface TyingVisit {
  readonly purpose: 'reference' | 'bridge';
  readonly cooler: string;
  readonly sample: string;
  readonly loads_W: readonly number[];
  readonly fan_rpm: number;
  /** Procedure to run it under, where that matters. */
  readonly method: string | undefined;
  readonly minutes: number;
  /** What it is for, in words. */
  readonly why: string;
}

/**
 * The fittings that tie: the reference cooler under the condition it was run at in most sessions; where sessions of the coolers asked for hang together
 * with the present one neither by the reference nor by another cooler, the cooler of theirs that was fitted most often; and where procedures are joined
 * by no cooler, the run that joins them.
 *
 * @param source  what the plan is for
 * @param asked  names of the coolers to be told apart
 */
export function tyingVisits(
  bench: Bench,
  source: string,
  asked: readonly string[],
  time: BenchTime,
): TyingVisit[] {
  const out: TyingVisit[] = [];
  const runs = bench.runs.filter((run) => run.source === source && !isZeroLoad(run));
  const reference = runs.filter((run) => run.cooler === bench.reference_cooler);
  if (reference.length > 0) {
    out.push(
      visitOf(bench, reference, time, `as the reference cooler it ties today's readings to earlier sessions`),
    );
  }
  for (const { cooler, sessions } of retests(bench, runs, asked)) {
    const own = runs.filter((run) => run.cooler === cooler);
    const named = sessions
      .map((name) => (name === '' ? 'the unnamed session' : `session ${name}`))
      .join(', ');
    out.push(visitOf(bench, own, time, `to test again: no cooler ties ${named} to the present session`));
  }
  for (const { run, methods } of unbridgedAmong(bench, asked)) {
    if (run.source !== source) continue;
    const cooler = coolerByName(bench, run.cooler) as Cooler;
    out.push({
      purpose: 'bridge',
      cooler: run.cooler,
      sample: sampleOf(runs.filter((one) => one.cooler === run.cooler)),
      loads_W: run.power_W,
      fan_rpm: run.fan_rpm,
      method: run.method,
      minutes: time.remount_min + time.settle_min(cooler) * run.power_W.length,
      why: `as a bridge: run under ${methodName(run.method)}, it joins ${methods.map(methodName).join(' and ')}`,
    });
  }
  return out;
}

/** A fitting at the condition that these runs of one cooler were taken at in most sessions, then most often. */
function visitOf(bench: Bench, runs: readonly Run[], time: BenchTime, why: string): TyingVisit {
  const merit = (one: Run) => {
    const alike = runs.filter(
      (run) =>
        run.sample === one.sample && isSame(run.power_W, one.power_W) && isSame(run.fan_rpm, one.fan_rpm),
    );
    return 1000 * new Set(alike.map((run) => run.session)).size + alike.length;
  };
  const best = runs.reduce((a, b) => (merit(b) > merit(a) ? b : a));
  const cooler = coolerByName(bench, best.cooler) as Cooler;
  return {
    purpose: 'reference',
    cooler: best.cooler,
    sample: best.sample,
    loads_W: [best.power_W],
    fan_rpm: best.fan_rpm,
    method: undefined,
    minutes: time.remount_min + time.settle_min(cooler),
    why,
  };
}

/** Coolers to be run again because nothing ties the sessions they were run in to the present one, one for each such stretch of sessions. */
function retests(
  bench: Bench,
  runs: readonly Run[],
  asked: readonly string[],
): { cooler: string; sessions: string[] }[] {
  const sessions = sessionsOf({ ...bench, runs: [...runs] });
  if (sessions.length < 2) return [];
  const groups: { names: Set<string>; coolers: Set<string> }[] = [];
  for (const { session, runs: own } of sessions) {
    const coolers = new Set(own.map((run) => run.cooler));
    const touching = groups.filter((group) => [...coolers].some((cooler) => group.coolers.has(cooler)));
    const merged = { names: new Set([session]), coolers };
    for (const group of touching) {
      for (const name of group.names) merged.names.add(name);
      for (const cooler of group.coolers) merged.coolers.add(cooler);
      groups.splice(groups.indexOf(group), 1);
    }
    groups.push(merged);
  }
  const present = sessions[sessions.length - 1].session;
  return groups
    .filter(({ names }) => !names.has(present))
    .flatMap(({ names, coolers }) => {
      // The reference is run in any case and ties them.
      if (bench.reference_cooler !== undefined && coolers.has(bench.reference_cooler)) return [];
      const wanted = asked.filter((cooler) => coolers.has(cooler));
      if (wanted.length === 0) return [];
      const mounts = (cooler: string) => countMounts(runs.filter((run) => run.cooler === cooler));
      const cooler = wanted.reduce((a, b) => (mounts(b) > mounts(a) ? b : a));
      return [{ cooler, sessions: [...names] }];
    });
}

/** The sample with most runs. */
function sampleOf(runs: readonly Run[]): string {
  const count = (sample: string) => runs.filter((run) => run.sample === sample).length;
  return runs.length === 0 ? '1' : runs.reduce((a, b) => (count(b.sample) > count(a.sample) ? b : a)).sample;
}
