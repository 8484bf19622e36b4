import type { Bench } from '../bench/bench.ts';
import { posteriorFor } from '../fit/posterior-for.ts';
import type { ScatterComponent } from '../fit/scatter.ts';
import { askedRuns } from '../months/asked-runs.ts';
import { coolersAsked } from '../predict/at-conditions.ts';
import { type SourceTermResult, withSourceTerm } from '../predict/chip-term-result.ts';
import type { Conditions } from '../predict/conditions.ts';
import { type Fitted, fitResultOf, type ModelFit, shownModels } from '../predict/fit-result.ts';
import { type SourceLimit, sourceLimits } from '../predict/source-limits.ts';
import { type OverRuns, overRuns } from '../screen/strange.ts';
import type { Command } from './options/command.ts';
import { answerFromBench, answerOptions } from './options/print-answer.ts';
import { limitLines, sourceTermLines } from './text/source-tables.ts';
import { table } from './text/table.ts';
import { wrap } from './text/text-width.ts';
import { conciseUncertainty, interval, roundToUncertainty } from './text/uncertainty.ts';
import { fromTo, mountsNamed } from './text/wording.ts';

export interface FitResult extends Fitted {
  /** With a chip as the source. */
  source_term?: SourceTermResult;
  /** Where the source has a temperature limit: the load that reaches it at full fan speed. */
  limits?: SourceLimit[];
}

/**
 * Fits the formula models to every cooler of a bench.
 *
 * @param conditions  `source` and `coolers` count; the whole bench is fitted in any case, since coolers lend to each other
 * @throws BenchError where the bench has no runs on the source or a name is unknown
 */
export function fit(whole: Bench, conditions: Conditions = {}): FitResult & OverRuns {
  const asked = askedRuns(whole, conditions);
  const posterior = posteriorFor(asked.bench, conditions.source);
  const fitted: FitResult = fitResultOf(posterior, coolersAsked(posterior, conditions));
  const result = withSourceTerm(fitted, posterior);
  const { source, coolers, ambient_C, level } = conditions;
  const limits = sourceLimits(posterior, { source, coolers, ambient_C, level });
  return {
    ...result,
    ...(limits.length > 0 && { limits }),
    ...overRuns(asked, conditions.source, [...result.warnings, ...idleConditions(conditions)]),
  };
}

const IDLE_IN_FIT = [
  'power_W',
  'fan_rpm',
  'fan_percent',
  'sound_dBA',
  'pump_rpm',
  'pump_percent',
  'pressure_hPa',
  'altitude_m',
  'inlet_rise_K',
  'recirculation_percent',
  'paste',
  'orientation',
] as const;

/** Conditions that a fit takes, as every command does, and that it has no use for. */
function idleConditions(conditions: Conditions): string[] {
  const idle = IDLE_IN_FIT.filter((key) => conditions[key] !== undefined);
  return idle.length === 0
    ? []
    : [
        `fit uses all runs and gives the resistance at the greatest load run and full speed: ${idle.join(', ')} ${idle.length === 1 ? 'changes' : 'change'} nothing; use predict for other conditions`,
      ];
}

export const command: Command = {
  name: 'fit',
  operand: 'bench',
  about: `Fits the resistance of each cooler from the runs of a bench and prints the
models with their weights, the parameters with their standard errors, and how
much mounts, samples, sessions and readings scatter.`,
  example: 'heatladder fit demo-bench',
  options: () => answerOptions,
  run: (call) => answerFromBench(call, fit, fitTables),
};

/** Coolers whose models are shown. */
const MOST_DETAILED = 12;

function resistances(result: FitResult, width: number): string {
  return table(
    [
      { title: 'cooler', align: 'left' },
      { title: 'kind', align: 'left' },
      { title: 'runs', align: 'right' },
      { title: 'mounts', align: 'right' },
      { title: 'samples', align: 'right' },
      { title: 'loads run', unit: 'W', align: 'right' },
      { title: 'resistance', unit: 'K/W', align: 'right' },
    ],
    result.coolers.map((c) => [
      c.cooler,
      c.kind,
      String(c.runs),
      mountsNamed(c),
      String(c.samples),
      fromTo(c.power_low_W, c.power_high_W),
      roundToUncertainty(c.resistance_K_per_W, c.resistance_u_K_per_W),
    ]),
    { width },
  );
}

function modelLines(model: ModelFit, width: number): string[] {
  const parameters = Object.entries(model.parameters).map(([name, p]) => {
    const unit = p.unit === '1' || p.unit === '' ? '' : ` ${p.unit}`;
    return `${name} ${conciseUncertainty(p.value, p.standard_error)}${unit}`;
  });
  const share = `${Math.round(model.weight * 100)} %`.padStart(5);
  const fault = model.converged ? '' : ` [did not converge: ${model.reason}]`;
  const text = `${model.title} (${model.model}): ${parameters.join(', ')}${fault}`;
  const [head, ...rest] = wrap(text, width - 13);
  return [`    ${share}  ${head}`, ...rest.map((line) => `           ${line}`)];
}

function models(result: FitResult, width: number): string[] {
  const lines: string[] = [];
  const shown = result.coolers.length <= MOST_DETAILED ? result.coolers : [];
  for (const cooler of shown) {
    lines.push(`  ${cooler.cooler}`);
    const told = shownModels(cooler);
    for (const model of told) lines.push(...modelLines(model, width));
    const warned = told.flatMap((m) => m.warnings.map((w) => `${m.model}: ${w}`));
    for (const note of new Set([...cooler.notes, ...warned])) {
      lines.push(...wrap(note, width - 11).map((line) => `           ${line}`));
    }
  }
  if (shown.length === 0 && result.coolers.length > 0) {
    lines.push(
      table(
        [
          { title: 'cooler', align: 'left' },
          { title: 'heaviest model', align: 'left' },
          { title: 'weight', unit: '%', align: 'right' },
        ],
        result.coolers.map((c) => {
          const best = shownModels(c)[0];
          return best === undefined
            ? [c.cooler, 'none', '-']
            : [c.cooler, best.model, String(Math.round(best.weight * 100))];
        }),
        { width },
      ),
      '  --json gives every model and parameter.',
    );
  }
  return lines;
}

/** What the fitted symbols of the shipped models stand for. */
export const SYMBOLS: Readonly<Record<string, string>> = {
  R_0: 'resistance, the same at every load and speed',
  R_c: 'resistance that changes neither with load nor with fan speed',
  R_a: 'resistance of the air side at full fan speed',
  m: 'exponent with which it falls with fan speed',
  R_s: 'resistance that disappears as the heat pipes start',
  P_s: 'load over which that happens',
  R_k: "resistance to the part of the load above the heat pipes' limit",
  S_k: "step of the rise at the pipes' limit",
  P_k: 'load at which the heat pipes reach their limit',
  C: 'heat that the air stream carries per kelvin at full fan speed',
  N: 'number of transfer units at full fan speed',
  k: 'exponent with which it falls with fan speed',
  R_p: "resistance of the cold plate's film at full pump speed",
  b: 'exponent with which it falls with pump speed',
};

/** The symbols that are shown, each explained once. */
function symbolLines(result: FitResult, width: number): string[] {
  if (result.coolers.length > MOST_DETAILED) return [];
  const used = new Set(
    result.coolers.flatMap((cooler) => shownModels(cooler).flatMap((m) => Object.keys(m.parameters))),
  );
  const told = Object.keys(SYMBOLS).filter((name) => used.has(name));
  if (told.length === 0) return [];
  return ['', ...wrap(`Symbols: ${told.map((name) => `${name} ${SYMBOLS[name]}`).join('; ')}.`, width, 2)];
}

/** From half the least size to twice the greatest, the digits that the interval allows. */
function scatterRow(name: string, part: ScatterComponent): string[] {
  return [
    name,
    Number.isFinite(part.value) ? String(Number(part.value.toPrecision(2))) : 'not known',
    interval(part.low, part.high),
    part.assumed ? 'assumed: too few repeats' : 'the runs',
  ];
}

/**
 * What `fit` found, for a person: a resistance for each cooler, the models behind it, and the scatter of the bench.
 *
 * @returns text with a line end after the last line
 */
export function fitTables(result: FitResult, width = 80): string {
  const lines = [
    'Resistance from the source into the air, at the greatest load run and full speed',
    resistances(result, width),
    '',
    'Models, by weight; digits in brackets are the standard error of the last digits',
    ...models(result, width),
    ...symbolLines(result, width),
    '',
    'Scatter of the bench (standard deviations)',
    table(
      [
        { title: 'between', align: 'left' },
        { title: 'value', align: 'right' },
        { title: '95 % interval', align: 'right' },
        { title: 'from', align: 'left' },
      ],
      [
        scatterRow('mounts of a sample, K/W', result.scatter.mount_K_per_W),
        scatterRow('samples of a cooler, K/W', result.scatter.sample_K_per_W),
        scatterRow('sessions, K/W', result.scatter.session_K_per_W),
        scatterRow('readings of a mount, K', result.scatter.reading_K),
      ],
      { width },
    ),
  ];
  const more = [...limitLines(result.limits, width), ...sourceTermLines(result.source_term, width)];
  if (more.length > 0) lines.push('', ...more.slice(0, -1));
  return `${lines.join('\n')}\n`;
}
