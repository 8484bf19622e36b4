import { largest } from '../numerics/extremes.ts';
import { median } from '../numerics/median.ts';
import type { Run } from './bench.ts';
import { groupedBy } from './grouped.ts';
import { isZeroLoad, riseOf } from './run.ts';
import { counted, listed, shown } from './wording.ts';

/** Resistances outside this range, K/W, are no processor cooler's: a unit is wrong somewhere (an assumption). */
const LEAST_K_PER_W = 0.005;
const MOST_K_PER_W = 20;
/** Rises that head for so much at no load, K and as a share of the greatest rise, are read in a wrong unit or from a wrong zero. */
const MOST_INTERCEPT_K = 15;
const MOST_INTERCEPT_SHARE = 0.35;
const FEWEST = 3;

/**
 * What the runs of the heater cannot be, whatever the cooler: a load in mW under a name that says W, a temperature in °F under one that says °C.
 *
 * A resistance is nearly the same at every load, so that a line through the rises of a sample at one fan speed meets no rise near no load; one in
 * °F meets it 32 too high, and more. Said as a warning, since the numbers are legal.
 *
 * @param names  how the file calls its columns of load and source
 */
export function implausibleRuns(
  file: string,
  runs: readonly Run[],
  names: { power: string; source: string },
): string[] {
  const loaded = runs.filter((run) => run.source === 'heater' && !isZeroLoad(run));
  if (loaded.length < FEWEST) return [];
  const at = `${file}:${loaded[0].line}:1`;
  const resistance = median(loaded.map((run) => riseOf(run) / run.power_W));
  if (resistance > MOST_K_PER_W || resistance < LEAST_K_PER_W) {
    return [
      `${at}: half of the runs have ${resistance > MOST_K_PER_W ? 'more' : 'less'} than ${Number(resistance.toPrecision(2))} K/W, which no processor cooler has; check the units in the names ${names.power} and ${names.source}`,
    ];
  }
  const lines = intercepts(loaded);
  if (lines.length === 0) return [];
  const middle = median(lines);
  const most = largest(loaded.map((run) => riseOf(run)));
  if (middle < MOST_INTERCEPT_K || middle < MOST_INTERCEPT_SHARE * most) return [];
  return [
    `${at}: the rises head for ${middle.toFixed(0)} K at no load, where a heater has none; check the unit in the name ${names.source} and whether ambient_C is the air's`,
  ];
}

/** No cooler has less than this with its paste, K/W, and no heater is hotter than this for long, °C (common practice, no source). */
const LEAST_OF_A_RUN_K_PER_W = 0.03;
const HOTTEST_C = 250;
/** Below this load what the sensors are off by may hide the rise, W. */
const LEAST_LOAD_W = 20;

/**
 * Single runs that no cooler and no heater could have made, whatever the rest of the bench says: a load of 1201 W for 120.1 W, a source of 467 °C
 * for 46.7 °C. Said as warnings, since the numbers are legal.
 *
 * @param placeOf  file, line and column of a cell
 */
export function impossibleRuns(
  runs: readonly Run[],
  placeOf: (run: Run, column: 'power_W' | 'source_C') => string,
): string[] {
  const cold = runs.filter(
    (run) => run.power_W >= LEAST_LOAD_W && riseOf(run) < LEAST_OF_A_RUN_K_PER_W * run.power_W,
  );
  const hot = runs.filter(({ source_C }) => source_C > HOTTEST_C);
  const more = (all: readonly Run[]) =>
    all.length > 1 ? ` (and ${counted(all.length - 1, 'more run')})` : '';
  return [
    ...cold.slice(0, 1).map((run) => {
      const figure = Number((riseOf(run) / run.power_W).toPrecision(2));
      return `${placeOf(run, 'power_W')}: ${run.power_W} W with a rise of ${Number(riseOf(run).toPrecision(3))} K are ${figure} K/W, less than any cooler has${more(cold)}; check load and temperatures for a typing error`;
    }),
    ...hot
      .slice(0, 1)
      .map(
        (run) =>
          `${placeOf(run, 'source_C')}: ${run.source_C} °C is hotter than a heater survives${more(hot)}; check it for a typing error`,
      ),
  ];
}

/**
 * Where the rises at the least and the greatest load of a sample at one fan speed head for at no load, K: fittings
 * differ by far less than what is looked for.
 */
function intercepts(runs: readonly Run[]): number[] {
  const groups = groupedBy(runs, ({ cooler, sample, fan_rpm }) => JSON.stringify([cooler, sample, fan_rpm]));
  return [...groups.values()].flatMap((group) => {
    const sorted = [...group].sort((a, b) => a.power_W - b.power_W);
    const [first, last] = [sorted[0], sorted[sorted.length - 1]];
    if (last.power_W < 1.5 * first.power_W) return [];
    const [low, high] = [riseOf(first), riseOf(last)];
    return [low - ((high - low) * first.power_W) / (last.power_W - first.power_W)];
  });
}

/**
 * Names that differ in capitals, spaces or hyphens alone: perhaps one cooler written in two ways.
 *
 * @param stated  names that coolers.csv has; two of them are meant
 */
export function twinNames(
  file: string,
  runs: readonly { cooler: string; line: number }[],
  stated: ReadonlySet<string>,
): string[] {
  const known = new Map<string, Map<string, number>>();
  for (const { cooler, line } of runs) {
    const key = cooler.toLowerCase().replace(/[\s_-]+/g, '');
    const names = known.get(key) ?? new Map<string, number>();
    if (!names.has(cooler)) names.set(cooler, line);
    known.set(key, names);
  }
  return [...known.values()].flatMap((names) => {
    if (names.size < 2 || [...names.keys()].every((name) => stated.has(name))) return [];
    const line = largest(names.values());
    return [
      `${file}:${line}:1: ${listed([...names.keys()].map(shown), 'and')} are taken for different coolers; write one cooler's name in one way`,
    ];
  });
}
