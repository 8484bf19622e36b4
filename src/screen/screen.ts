import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { mountName } from '../bench/mounts.ts';
import { isZeroLoad } from '../bench/run.ts';
import { benchTime } from '../design/bench-time.ts';
import type { Conditions, ScreenResult } from '../results.ts';
import type { ScreenedSource } from './screen-posterior.ts';
import { screenedSource } from './strange.ts';
import { tellingRun } from './telling-run.ts';
import { withoutRuns } from './without.ts';

/**
 * Strange runs and mounts of a bench, each with its likely cause and the run that would tell.
 *
 * Nothing is taken out of the bench: whoever wants to see what an answer owes to a strange mount asks again without it.
 *
 * @param conditions  `source` (default: every source with runs) and `coolers` (which to report) count
 * @throws BenchError where there is nothing to judge
 */
export function screen(whole: Bench, conditions: Conditions = {}): ScreenResult {
  const bench = withoutRuns(whole, conditions.without);
  const there = [...new Set(bench.runs.filter((run) => !isZeroLoad(run)).map((run) => run.source))];
  const sources =
    conditions.source === undefined ? there : there.filter((name) => name === conditions.source);
  if (sources.length === 0) {
    const has =
      there.length > 0 ? `runs are there on ${there.join(', ')}` : 'the bench has no runs under load';
    throw new BenchError(
      '--source',
      1,
      1,
      `no runs with heat on the source "${conditions.source ?? 'heater'}"; ${has}`,
    );
  }
  const screened = sources.map((source) => screenedSource(bench, source));
  const time = benchTime(bench);
  for (const { mounts, judged, clean } of screened) {
    mounts.forEach((mount, k) => {
      if (mount.verdict !== 'ok') mount.next_run = tellingRun(bench, clean, judged[k], time);
    });
  }
  const wanted = conditions.coolers;
  const coolerOf = new Map(bench.runs.map((run) => [run.run, run.cooler]));
  const result: ScreenResult = {
    bench: bench.name,
    method: METHOD,
    runs: screened
      .flatMap((one) => one.runs)
      .filter((run) => !wanted || wanted.includes(coolerOf.get(run.run) ?? '')),
    mounts: screened.flatMap((one) => one.mounts).filter((mount) => !wanted || wanted.includes(mount.cooler)),
    warnings: [...bench.warnings, ...outOfTolerance(bench), ...screened.flatMap(warningsOf)],
  };
  return result;
}

/** Names the runs in which the room was not as the bench asks for; an answer corrects for ambient, a fan and a pipe feel it all the same. */
function outOfTolerance({ ambient: { setpoint_C, tolerance_K }, runs }: Bench): string[] {
  const out = runs.filter(({ ambient_C }) => Math.abs(ambient_C - setpoint_C) > tolerance_K + 1e-9);
  if (out.length === 0) return [];
  const named = out.slice(0, MOST_NAMED).map(({ run, ambient_C }) => `${run} at ${ambient_C} °C`);
  const more = out.length > MOST_NAMED ? ` and ${out.length - MOST_NAMED} more` : '';
  return [`the room was outside ${setpoint_C} ± ${tolerance_K} °C in ${named.join(', ')}${more}`];
}

const MOST_NAMED = 3;

const METHOD =
  'Deleted residuals under the full scatter model (sample, mount, session, reading, shape), each suspect judged with the scatter estimated ' +
  'without it; p adjusted for the number judged (Holm), half of the level for the mounts and half for the runs, the two mounts of a cooler one test; a mount also by its chance of being in order, all mounts of the bench weighed at once. Straggler: p between 1 % and 5 %, outlier: below 1 % ' +
  '(ISO 5725-2). Causes by marginal likelihood over usual sizes of each fault.';

function warningsOf({ mounts, judged, notes, clean }: ScreenedSource): string[] {
  const strange = mounts.filter((mount) => mount.verdict !== 'ok');
  const names = strange.map(mountName).join(',');
  return [
    ...clean.posterior.warnings,
    ...new Set(notes),
    ...new Set(
      mounts.flatMap(({ verdict, cooler, causes }, k) => {
        const likeliest = causes.slice(0, 2).map((one) => one.cause);
        const isTie = likeliest.includes('interface') && likeliest.includes('pump');
        if (verdict === 'ok' || !isTie || judged[k].coolant) return [];
        return [
          `${cooler}: without coolant_C a slow pump and a poor interface look alike; read the coolant on its mounts from now on`,
        ];
      }),
    ),
    ...(strange.length > 0
      ? [`nothing is left out by itself: to see what depends on them, fit and compare --without '${names}'`]
      : []),
  ];
}
