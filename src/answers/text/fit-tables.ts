import { shownModels } from '../../predict/fit-result.ts';
import type { FitResult, ModelFit, ScatterComponent } from '../../results.ts';
import { limitLines, sourceTermLines } from './source-tables.ts';
import { table } from './table.ts';
import { wrap } from './text-width.ts';
import { conciseUncertainty, interval, roundToUncertainty } from './uncertainty.ts';
import { fromTo, mountsNamed } from './wording.ts';

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
