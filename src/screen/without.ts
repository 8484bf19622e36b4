import type { Bench, Run } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { namesOf, readingsOf } from '../bench/mounts.ts';
import { nearestName } from '../bench/nearest-name.ts';
import { benchWithRuns } from '../logs/bench-with-runs.ts';
import { studyOf } from '../study.ts';

/**
 * A bench with some runs or mounts set aside, as a copy; the bench itself and its files stay as they are. Where the bench has logs only,
 * these are reduced first.
 *
 * A name is the id of a run, or `cooler/sample/mount` for a whole fitting (on every source; `cooler/sample/mount/source` for one), with
 * double quotes around a part that holds a slash. A
 * warning in the copy says what is left out, so that no answer hides it. Asked twice with the same names, the same copy comes back
 * and with it everything that was computed from it.
 *
 * @throws BenchError for a name that is no run and no mount of the bench or could be two of them, or where nothing would be left
 * @example withoutRuns(bench, ['r014', 'Rowan/1/2']).runs.length
 */
export function withoutRuns(whole: Bench, names: readonly string[] | undefined): Bench {
  const bench = benchWithRuns(whole);
  if (names === undefined || names.length === 0) return bench;
  const key = JSON.stringify([...new Set(names)].sort());
  return studyOf(bench).once(`without ${key}`, () => filtered(bench, names));
}

/** The bench without the runs that the names mean: an id, or all runs of a mount. */
function filtered(bench: Bench, names: readonly string[]): Bench {
  const out = new Set<Run>();
  const said: string[] = [];
  for (const name of new Set(names)) {
    const readings = new Set<string>();
    const hit = bench.runs.filter((run) => {
      const found = readingsOf(run, name);
      for (const reading of found) readings.add(reading);
      return found.length > 0;
    });
    if (hit.length === 0) throw unknownName(bench, name);
    if (readings.size > 1) {
      const what = `"${name}" can be read as ${[...readings].join(' and as ')}; put each part that holds a slash in double quotes, or rename one`;
      throw new BenchError('--without', 0, 0, what);
    }
    for (const run of hit) out.add(run);
    said.push(hit.length === 1 && hit[0].run === name ? `run ${name}` : `mount ${name} (${hit.length} runs)`);
  }
  const runs = bench.runs.filter((run) => !out.has(run));
  if (runs.length === 0) {
    throw new BenchError('--without', 1, 1, 'nothing would be left; leave out fewer runs');
  }
  return {
    ...bench,
    runs,
    warnings: [...bench.warnings, `left out as asked: ${said.join(', ')}; ${runs.length} runs remain`],
  };
}

/** The refusal of a name that no run and no mount has. */
function unknownName(bench: Bench, name: string): BenchError {
  const near = nearestName(name, new Set(bench.runs.flatMap(namesOf)));
  const hint = near ? `; did you mean "${near}"?` : '';
  return new BenchError(
    '--without',
    1,
    1,
    `no run and no mount "${name}"${hint}; give ids of runs, or a mount as cooler/sample/mount, parts that hold a slash in double quotes`,
  );
}
