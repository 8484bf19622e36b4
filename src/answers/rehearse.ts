import { rehearseAdaptive } from '../design/adaptive.ts';
import { readPlan } from '../design/plan-table.ts';
import type { AdaptivePolicy, AdaptiveResult, RehearseResult } from '../design/planned.ts';
import { rehearse } from '../design/rehearse.ts';
import { SAFETY_IN_SHORT } from '../report/safety.ts';
import type { Command, GivenOptions, Invocation } from './options/command.ts';
import { fault, numberGiven, readConditions } from './options/conditions.ts';
import { answerOptions, printAnswer } from './options/print-answer.ts';
import { goalOf, goalOptions, hoursOf, targetOf } from './plan.ts';
import { table } from './text/table.ts';
import { wrap } from './text/text-width.ts';
import { fixed } from './text/uncertainty.ts';
import { counted, load } from './text/wording.ts';

export const command: Command = {
  name: 'rehearse',
  operand: 'bench',
  about: `Carries a plan out on the fitted virtual lab, many times: in what share of them
each pair is told apart, and how often the wrong way round. With --adaptive it
plays the whole loop: plan one visit, read it, plan again, until the question is
answered, no further run is worthwhile or the hours end, and compares that with
running every cooler in turn.`,
  example: 'heatladder rehearse demo-bench --runs plan.csv --repeats 100',
  options: () => ({
    runs: { value: 'FILE', describe: 'the plan, as plan -o writes it: cooler, power_W and more' },
    adaptive: { describe: 'plan, read and plan again, with --target, --hours, --goal and --margin' },
    target: { value: 'W', describe: 'with --adaptive: loads to decide' },
    hours: { value: 'H', describe: 'with --adaptive: hours on the bench at most' },
    ...goalOptions,
    repeats: { value: 'N', describe: 'how many times (default 500; with --adaptive 100)' },
    ...answerOptions,
    power: { value: 'W', describe: 'loads at which to compare (default: the greatest of the plan)' },
  }),
  run: async (call) => {
    const { folder, options, open, files } = call;
    if (options.adaptive === true) return playLoop(call);
    const { name, bytes } = files.given('--runs', options.runs, 'give the file that plan -o wrote');
    const repeats = repeatsOf(options) ?? 500;
    const bench = await open(folder);
    const asked = { ...readConditions(options, bench), runs: readPlan(name, bytes), repeats };
    await printAnswer(call, rehearse(bench, asked), rehearseTables);
  },
};

async function playLoop(call: Invocation): Promise<void> {
  const { folder, options, open, files } = call;
  if (options.runs !== undefined) {
    throw fault('runs', 'with --adaptive the runs are chosen on the way; give --runs or --adaptive');
  }
  const target_W = targetOf(options);
  const hours = hoursOf(options);
  const goal = goalOf(options);
  const repeats = repeatsOf(options);
  const bench = await open(folder);
  const progress = await files.progress('benches played');
  const asked = { ...readConditions(options, bench), target_W, hours, ...goal };
  const play = (): AdaptiveResult => {
    try {
      return rehearseAdaptive(bench, { ...asked, ...(repeats !== undefined && { repeats }) }, progress.at);
    } finally {
      progress.end();
    }
  };
  await printAnswer(call, play(), adaptiveTables);
}

function repeatsOf(options: GivenOptions): number | undefined {
  const isCount = (value: number) => Number.isInteger(value) && value >= 1 && value <= 100_000;
  return numberGiven(options, 'repeats', 'number of repeats; give 1 to 100000', isCount);
}

/** Pairs shown; --json gives all. */
const MOST_PAIRS = 30;

/**
 * What `rehearse` found, for a person.
 *
 * @returns text with a line end after the last line
 */
function rehearseTables(result: RehearseResult, width = 80): string {
  const shown = [...result.pairs].sort((a, b) => b.resolved_fraction - a.resolved_fraction);
  const lines = [
    ...wrap(
      `${counted(result.repeats, 'rehearsal')} of ${result.hours.toFixed(1)} h: ${result.resolved_mean.toFixed(1)} of ${counted(result.pairs.length, 'pair')} told apart on average, ${result.false_mean.toFixed(2)} of them the wrong way round`,
      width,
    ),
    '',
    table(
      [
        { title: 'pair', align: 'left' },
        { title: 'load', align: 'right' },
        { title: 'told apart', unit: '%', align: 'right' },
        { title: 'the wrong way', unit: '%', align: 'right' },
      ],
      shown
        .slice(0, MOST_PAIRS)
        .map((pair) => [
          `${pair.a} - ${pair.b}`,
          load(pair.power_W),
          fixed(100 * pair.resolved_fraction, 1),
          fixed(100 * pair.false_fraction, 1),
        ]),
      { width },
    ),
  ];
  if (shown.length > MOST_PAIRS) lines.push('--json gives all of them.');
  lines.push(...wrap(SAFETY_IN_SHORT, width));
  return `${lines.join('\n')}\n`;
}

/**
 * What `rehearse --adaptive` found, for a person.
 *
 * @returns text with a line end after the last line
 */
function adaptiveTables(result: AdaptiveResult, width = 80): string {
  const { repeats, hours_asked, target_W, goal, margin_K } = result;
  const margin = margin_K === null ? '' : `, differences within ${margin_K} K the same`;
  const row = (title: string, of: (policy: AdaptivePolicy) => string) => [
    title,
    of(result.adaptive),
    of(result.in_turn),
  ];
  const lines = [
    ...wrap(
      `${counted(repeats, 'play')} of benches drawn from the fit, at most ${hours_asked} h each; ${goal} at ${target_W.join(', ')} W${margin}; looked at after every visit`,
      width,
    ),
    '',
    table(
      [
        { title: '', align: 'left' },
        { title: 'plan, read, plan again', align: 'right' },
        { title: 'every cooler in turn', align: 'right' },
      ],
      [
        row('hours on average', (one) => fixed(one.hours_mean, 1)),
        row('hours, eight of ten from', (one) => `${fixed(one.hours_10, 1)} to ${fixed(one.hours_90, 1)}`),
        row('question answered, %', (one) => fixed(100 * one.answered, 0)),
        row('no further run worthwhile, %', (one) => fixed(100 * one.not_worth_more, 0)),
        row('comparisons decided', (one) => fixed(one.decided_mean, 1)),
        row('right at best estimate, %', (one) => fixed(100 * one.right, 0)),
        row('a false statement at any look, %', (one) => fixed(100 * one.false_decisions, 1)),
      ],
      { width },
    ),
    ...wrap(
      `These shares are known to ${Math.ceil(50 / Math.sqrt(repeats))} points; more --repeats narrow that.`,
      width,
    ),
    ...wrap(SAFETY_IN_SHORT, width),
  ];
  return `${lines.join('\n')}\n`;
}
