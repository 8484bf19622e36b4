import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { coolerByName } from '../bench/mounts.ts';
import { isZeroLoad } from '../bench/run.ts';
import { shapeOf } from '../bench/source.ts';
import { compareFrom } from '../compare/compare.ts';
import { posteriorFor } from '../fit/posterior-for.ts';
import { benchWithRuns } from '../logs/bench-with-runs.ts';
import type { Conditions } from '../predict/conditions.ts';
import { predictFrom } from '../predict/predict.ts';
import { canExplain, type Explanation, type GapCost } from '../surfaces/can-explain.ts';
import type { Source } from '../surfaces/source-geometry.ts';
import { type ContactResult, type SurfaceRow, USUAL_BASE, unevenness } from '../surfaces/unevenness.ts';
import type { Command } from './options/command.ts';
import { fault } from './options/conditions.ts';
import { number } from './options/parse-loads.ts';
import { answerFromBench, answerOptions } from './options/print-answer.ts';
import { table } from './text/table.ts';
import { wrap } from './text/text-width.ts';
import { load, plain } from './text/wording.ts';

export const command: Command = {
  name: 'flatness',
  operand: 'bench',
  about: `Reads the depth-gauge maps of a bench: how flat each base is, the gap that the
paste fills, what that gap adds to the resistance and to the rise at a load, and
whether it can explain the differences between coolers.`,
  example: 'heatladder flatness demo-bench --power 180',
  options: () => ({
    ...answerOptions,
    power: { value: 'W', describe: 'loads: 150,250 or from:to:step, ends included (default 200)' },
    source: {
      value: 'NAME',
      describe: 'let the heat enter through the hot spots of this source (default: evenly)',
    },
    'contact-pressure': {
      value: 'KPA',
      describe: 'pressure of the base on the source (default: none, so the gap is an upper bound)',
    },
    paste: { value: 'LOW,HIGH', describe: 'what the paste conducts, W/mK (default 4,8)' },
  }),
  run: (call) =>
    answerFromBench(
      call,
      (bench, conditions) => {
        const { 'contact-pressure': pressure, paste } = call.options;
        return flatness(bench, {
          ...conditions,
          ...(typeof pressure === 'string' && { contact_pressure_kPa: readPressure(pressure) }),
          ...(typeof paste === 'string' && { paste_W_per_mK: readPaste(paste) }),
        });
      },
      flatnessTables,
    ),
};

function readPressure(text: string): number {
  const value = number(text) ?? Number.NaN;
  if (value > 0 && value <= 1e5) return value;
  throw fault(
    'contact-pressure',
    `"${text}" is not a pressure; give kPa above 0 and up to 100000 such as 300`,
  );
}

function readPaste(text: string): [number, number] {
  const values = text.split(',').map((part) => number(part) ?? Number.NaN);
  const [low, high = low] = values;
  if (values.length <= 2 && low > 0 && high >= low && high <= 1e4) return [low, high];
  throw fault(
    'paste',
    `"${text}" is not a conductivity; give one number above 0 in W/mK or two in order such as 4,8`,
  );
}

export interface FlatnessConditions extends Conditions {
  /** Pressure on the contact, kPa; without it the gap is the most that it can be. */
  contact_pressure_kPa?: number;
  /** Conductivity of the paste, low and high, W/mK; default 4 and 8 (common practice). */
  paste_W_per_mK?: readonly [number, number];
}

/** Whether the unevenness of two bases can explain what the bench sees between the coolers. */
export interface FlatnessExplanation extends Explanation {
  a: string;
  b: string;
  power_W: number;
  observed_K: number;
}

export interface FlatnessResult extends ContactResult {
  /** Pairs of coolers with a map each and runs; empty where there are none. */
  explanations: FlatnessExplanation[];
}

/** Load where none is asked for, W (common practice, no source). */
const USUAL_LOAD_W = 200;

/**
 * What the unevenness of each measured base costs at a load, and whether it explains the differences that the bench sees.
 *
 * Without `source` the heat is taken to enter evenly over the whole contact. With it the heat enters through the source's hot
 * spots and finds its way through lid and base (its `base_thickness_mm`, 3 mm where that is not known) around the gap.
 *
 * @throws BenchError where the bench has no flatness map, or the source's shape is not known
 * @example flatness(bench, { power_W: [200] }).surfaces[0].rise_K
 */
export function flatness(whole: Bench, conditions: FlatnessConditions = {}): FlatnessResult {
  const bench = benchWithRuns(whole);
  const power_W = conditions.power_W ?? [USUAL_LOAD_W];
  const source = conditions.source === undefined ? undefined : shapeToSpread(bench, conditions.source);
  const seen = observed(bench, conditions, power_W);
  const result = unevenness(bench, {
    power_W,
    coolers: conditions.coolers,
    pressure_kPa: conditions.contact_pressure_kPa,
    paste_W_per_mK: conditions.paste_W_per_mK,
    source,
    base: (cooler) => ({
      ...USUAL_BASE,
      thickness_mm: coolerByName(bench, cooler)?.base_thickness_mm ?? USUAL_BASE.thickness_mm,
    }),
    riseOf: (cooler, power) =>
      seen?.predictions.find((p) => p.cooler === cooler && p.power_W === power)?.rise_K,
  });
  const explanations = (seen?.pairs ?? []).flatMap(({ a, b, difference }) =>
    difference.flatMap(({ power_W: power, rise_K, low_K, high_K }): FlatnessExplanation[] => {
      const [first, second] = [costOf(result.surfaces, a, power), costOf(result.surfaces, b, power)];
      if (!first || !second) return [];
      return [
        { a, b, power_W: power, observed_K: rise_K, ...canExplain(first, second, { rise_K, low_K, high_K }) },
      ];
    }),
  );
  return { ...result, explanations, warnings: [...bench.warnings, ...result.warnings] };
}

function shapeToSpread(bench: Bench, name: string): Source {
  const shape = shapeOf(bench, name);
  if (shape) return shape;
  throw new BenchError(
    '--source',
    1,
    1,
    `the shape of "${name}" is not known; give its chip in bench.yaml a geometry, or leave --source out for even flux`,
  );
}

/** What the bench predicts and tells apart for the coolers with a map; `undefined` where none of them has runs. */
function observed(bench: Bench, conditions: FlatnessConditions, power_W: readonly number[]) {
  const source = conditions.source ?? 'heater';
  const mapped = new Set(bench.flatness.map((map) => map.cooler));
  if (!bench.runs.some((run) => mapped.has(run.cooler) && !isZeroLoad(run))) return undefined;
  const posterior = posteriorFor(bench, source);
  const coolers = posterior.coolers
    .map((one) => one.data.cooler.cooler)
    .filter((name) => mapped.has(name) && (conditions.coolers?.includes(name) ?? true));
  if (coolers.length === 0) return undefined;
  const asked: Conditions = { ...conditions, power_W, coolers };
  const { predictions } = predictFrom(posterior, asked);
  return { predictions, pairs: coolers.length > 1 ? compareFrom(posterior, asked).pairs : [] };
}

/** Cost of a cooler's unevenness: the mean over its samples, the widest of their ranges. */
function costOf(surfaces: readonly SurfaceRow[], cooler: string, power_W: number): GapCost | undefined {
  const own = surfaces.filter((row) => row.cooler === cooler && row.power_W === power_W);
  if (own.length === 0) return undefined;
  return {
    cooler,
    rise_K: own.reduce((sum, row) => sum + row.rise_K, 0) / own.length,
    rise_low_K: Math.min(...own.map((row) => row.rise_low_K)),
    rise_high_K: Math.max(...own.map((row) => row.rise_high_K)),
  };
}

/**
 * What `flatness` found, for a person: a row a surface, one table a load, then what it explains. That the gap is
 * only a bound where no pressure is given is among the warnings.
 *
 * @returns text with a line end after the last line
 */
function flatnessTables(result: FlatnessResult, width = 80): string {
  const loads = [...new Set(result.surfaces.map((row) => row.power_W))];
  const lines: string[] = [];
  const flux =
    result.reading === 'coupled'
      ? `heat entering through the hot spots of ${result.source ?? ''}`
      : 'heat entering evenly';
  const [low, high] = result.paste_W_per_mK;
  lines.push(
    ...wrap(
      `What unevenness adds to a perfectly flat base with the same paste, ${flux}, paste of ${plain(low)} to ${plain(high)} W/mK`,
      width,
    ),
  );
  for (const power_W of loads) {
    const at = result.surfaces.filter((row) => row.power_W === power_W);
    const withShare = at.some((row) => row.share_of_rise !== null);
    lines.push(
      '',
      `At ${load(power_W)}`,
      table(
        [
          { title: 'cooler', align: 'left' },
          { title: 'sample', align: 'left' },
          { title: 'shape', align: 'left' },
          { title: 'flatness', unit: 'µm', align: 'right' },
          { title: 'mean gap', unit: 'µm', align: 'right' },
          { title: 'added resistance', unit: 'K/W', align: 'right' },
          { title: 'added rise', unit: 'K', align: 'right' },
          { title: 'from, to', unit: 'K', align: 'right' },
          ...(withShare ? [{ title: 'of its rise', unit: '%', align: 'right' } as const] : []),
        ],
        at.map((row) => [
          row.cooler,
          row.sample,
          row.shape,
          row.flatness_um.toFixed(1),
          row.mean_gap_um.toFixed(1),
          row.resistance_K_per_W.toFixed(4),
          row.rise_K.toFixed(1),
          `${row.rise_low_K.toFixed(1)} to ${row.rise_high_K.toFixed(1)}`,
          ...(withShare ? [row.share_of_rise === null ? '-' : (100 * row.share_of_rise).toFixed(1)] : []),
        ]),
        { width },
      ),
    );
  }
  if (result.explanations.length > 0) lines.push('');
  for (const { power_W, sentence } of result.explanations) {
    lines.push(...wrap(`At ${load(power_W)}: ${sentence}`, width, 2));
  }
  return `${lines.join('\n')}\n`;
}
