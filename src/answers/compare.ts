import type { Bench } from '../bench/bench.ts';
import { aboveInlet } from '../compare/above-inlet.ts';
import { compareFrom } from '../compare/compare.ts';
import type { Comparison, LoadOrder, Pair } from '../compare/comparison.ts';
import { differenceBudget } from '../compare/difference-budget.ts';
import { type ClockResult, pairClock } from '../compare/pair-clock.ts';
import { type SameWithin, sameWithin } from '../compare/same-within.ts';
import { posteriorFor } from '../fit/posterior-for.ts';
import { askedRuns, runsAsked } from '../months/asked-runs.ts';
import { type SessionDoubt, sessionDoubt } from '../months/differences-in-doubt.ts';
import { requireBridges } from '../months/method-bridge.ts';
import { sessionsOutOfControl } from '../months/sessions-out-of-control.ts';
import { coolersAsked } from '../predict/at-conditions.ts';
import { type SourceTermResult, withSourceTerm } from '../predict/chip-term-result.ts';
import type { Conditions } from '../predict/conditions.ts';
import { SAFETY_IN_SHORT } from '../report/safety.ts';
import { type OverRuns, overRuns } from '../screen/strange.ts';
import { type SoundTradeOff, soundTradeOff } from '../sound/sound-trade-off.ts';
import type { Command } from './options/command.ts';
import { marginOption, meanOptions, readMargin, readMean } from './options/conditions.ts';
import { answerFromBench, answerOptions } from './options/print-answer.ts';
import { answer, crossingRange, leads } from './text/answer.ts';
import { budgetTable } from './text/budget-tables.ts';
import { soundTables } from './text/sound-tables.ts';
import { clockLines, sourceTermLines } from './text/source-tables.ts';
import { table } from './text/table.ts';
import { wrap } from './text/text-width.ts';
import { fixed, interval } from './text/uncertainty.ts';
import {
  BEYOND_FOOTNOTE,
  chance,
  LIMIT_FOOTNOTE,
  LIMIT_MARK,
  load,
  marked,
  moreLines,
  percent,
  plain,
  spread,
} from './text/wording.ts';

/** What `compare` accepts beside the conditions. */
export interface CompareOptions extends Conditions {
  /** Say where the variance of each interval comes from, and what would halve each part. */
  budget?: boolean;
  /** The least difference that matters, K: pairs shown to be within it are named. */
  margin_K?: number;
}

export interface CompareResult extends Comparison {
  /** What sound costs and buys; there where equal sound was asked for. */
  sound?: SoundTradeOff;
  /** With a chip as the source. */
  source_term?: SourceTermResult;
  /** With a chip as the source for which the lab noted pairs of temperature and clock. */
  clock?: ClockResult;
  /** Differences that rest on a session out of control or on sessions that nothing ties; there where any does. */
  session_doubt?: SessionDoubt;
  /** Pairs that are shown to differ by less than the margin asked for. */
  same_within?: SameWithin;
}

/**
 * Compares the coolers: order at each load, which pairs the test can tell apart, where the order changes; at equal sound
 * also what sound costs and buys. Coolers run under different test methods are ranked only where coolers run under both join
 * the methods.
 *
 * @throws BenchError on a condition that cannot be met
 */
export function compare(
  whole: Bench,
  { budget, margin_K, ...conditions }: CompareOptions = {},
): CompareResult & OverRuns {
  const asked = askedRuns(whole, conditions);
  const { bench } = asked;
  const posterior = posteriorFor(bench, conditions.source);
  const coolers = coolersAsked(posterior, conditions);
  requireBridges(
    bench,
    coolers.map(({ data }) => data.cooler.cooler),
  );
  const compared: CompareResult = aboveInlet(
    compareFrom(posterior, conditions, budget ? { budget: differenceBudget } : {}),
    conditions,
  );
  const result = withSourceTerm(compared, posterior);
  const sound = conditions.sound_dBA === undefined ? undefined : soundTradeOff(posterior, conditions);
  const clock = pairClock(bench, result);
  const inFile = runsAsked(whole, conditions);
  const doubt = sessionDoubt(inFile, posterior, result.pairs, sessionsOutOfControl(inFile));
  return {
    ...result,
    ...(doubt && { session_doubt: doubt }),
    ...(clock && { clock }),
    ...(sound && { sound }),
    ...(margin_K !== undefined && { same_within: sameWithin(result.pairs, margin_K) }),
    ...overRuns(asked, conditions.source, result.warnings),
  };
}

export const command: Command = {
  name: 'compare',
  operand: 'bench',
  about: `Says which cooler is ahead at each load, which tie because the test cannot tell
them apart, and at which loads the order changes.`,
  example: 'heatladder compare demo-bench --power 50:250:50 --fan 60%',
  options: () => ({ ...answerOptions, ...meanOptions, ...marginOption }),
  run: (call) =>
    answerFromBench(
      call,
      (bench, conditions) =>
        compare(bench, { ...conditions, ...readMean(call.options), ...readMargin(call.options) }),
      compareTables,
    ),
};

/** Loads, coolers and rows shown; --json gives all. */
const MOST_LOADS = 5;
const MOST_COOLERS = 15;
const MOST_ROWS = 30;

/** Loads worth printing: the ends, those at which the lead changes, and others spread between. */
function digestLoads(loads: readonly LoadOrder[]): LoadOrder[] {
  if (loads.length <= MOST_LOADS) return [...loads];
  const wanted = new Set<number>([loads[0].power_W, loads[loads.length - 1].power_W]);
  for (const lead of leads(loads).slice(1)) {
    if (wanted.size < MOST_LOADS) wanted.add(lead.from_W);
  }
  for (const at of spread(loads, MOST_LOADS)) {
    if (wanted.size < MOST_LOADS) wanted.add(at.power_W);
  }
  return loads.filter((at) => wanted.has(at.power_W));
}

function orderTable(at: LoadOrder, level: number, width: number): string[] {
  const shown = at.order.slice(0, MOST_COOLERS);
  const rises = marked(
    marked(
      shown.map((e) => e.rise_K.toFixed(1)),
      shown.map((e) => e.extrapolated),
    ),
    shown.map((e) => e.above_limit),
    LIMIT_MARK,
  );
  const text = table(
    [
      { title: 'cooler', align: 'left' },
      { title: 'rise', unit: 'K', align: 'right' },
      { title: `${percent(level)} of the mean`, unit: 'K', align: 'right' },
      { title: 'letters', align: 'left' },
      { title: 'chance of being coolest', unit: '%', align: 'right' },
    ],
    shown.map((e, i) => [
      e.cooler,
      rises[i],
      interval(e.mean_low_K, e.mean_high_K),
      e.tiers.join(''),
      chance(e.p_best),
    ]),
    { width },
  );
  const [more] = moreLines(at.order.length - shown.length);
  const lines = more ? [`${more}, from ${at.order[shown.length].rise_K.toFixed(1)} K up`] : [];
  return [`At ${load(at.power_W)}`, text, ...lines, ''];
}

function crossingsTable(result: CompareResult, width: number): string[] {
  const all = result.pairs.flatMap((pair) => pair.crossings);
  const vague = all.filter((c) => c.low_open && c.high_open).length;
  const byEstimate =
    vague === 0
      ? []
      : wrap(
          `By the estimates alone ${vague === 1 ? 'one pair changes' : `${vague} pairs change`} places, at a load that the test cannot tell.`,
          width - 2,
        ).map((line) => `  ${line}`);
  const found = all
    .filter((c) => !(c.low_open && c.high_open))
    .sort((x, y) => Number(x.extrapolated) - Number(y.extrapolated) || x.value - y.value);
  if (found.length === 0) {
    const nowhere = '  The test locates no change of order over the loads looked at.';
    return ['Where the order changes', nowhere, ...byEstimate, ''];
  }
  const shown = found.slice(0, MOST_ROWS);
  const values = marked(
    shown.map((c) => String(Math.round(c.value))),
    shown.map((c) => c.extrapolated),
  );
  const text = table(
    [
      { title: 'ahead below', align: 'left' },
      { title: 'ahead above', align: 'left' },
      { title: 'changes at', unit: 'W', align: 'right' },
      { title: `${percent(result.level)} interval`, unit: 'W', align: 'right' },
    ],
    shown.map((c, i) => [c.ahead_below, c.ahead_above, values[i], crossingRange(c).replace(/ W\b/, '')]),
    { width },
  );
  return ['Where the order changes', text, ...moreLines(found.length - shown.length), ...byEstimate, ''];
}

/** Pairs in the order in which they matter: by the better placed of the two at the greatest load. */
function byPlace(result: CompareResult): Pair[] {
  const names = result.loads[result.loads.length - 1]?.order.map((e) => e.cooler) ?? [];
  const place = new Map(names.map((name, i) => [name, i]));
  const keyOf = ({ a, b }: Pair): number => {
    const [i, j] = [place.get(a) ?? names.length, place.get(b) ?? names.length];
    return Math.min(i, j) * (names.length + 1) + Math.max(i, j);
  };
  const keyed = result.pairs.map((pair) => ({ pair, key: keyOf(pair) }));
  return keyed.sort((x, y) => x.key - y.key).map(({ pair }) => pair);
}

/** At a single load the difference itself says more than the loads at which it can be told. */
function differencesTable(result: CompareResult, width: number): string[] {
  const shown = byPlace(result).slice(0, MOST_ROWS);
  const withPipes = shown.some((pair) => pair.difference[0]?.if_pipes_hold);
  const ahead = (pair: Pair, d: { low_K: number; high_K: number } | undefined) =>
    d === undefined || (d.low_K <= 0 && d.high_K >= 0) ? 'a tie' : d.high_K < 0 ? pair.a : pair.b;
  const text = table(
    [
      { title: 'cooler', align: 'left' },
      { title: 'less', align: 'left' },
      { title: 'difference', unit: 'K', align: 'right' },
      { title: `${percent(result.level)} interval`, unit: 'K', align: 'right' },
      { title: 'ahead', align: 'left' },
      ...(withPipes
        ? [
            { title: 'if the pipes hold', unit: 'K', align: 'right' } as const,
            { title: 'ahead then', align: 'left' } as const,
          ]
        : []),
    ],
    shown.map((pair) => {
      const d = pair.difference[0];
      const held = d?.if_pipes_hold;
      return [
        pair.a,
        pair.b,
        d === undefined ? '-' : fixed(d.rise_K, 1),
        d === undefined ? '-' : interval(d.low_K, d.high_K),
        ahead(pair, d),
        ...(withPipes
          ? held
            ? [interval(held.low_K, held.high_K), ahead(pair, held)]
            : ['-', ahead(pair, d)]
          : []),
      ];
    }),
    { width },
  );
  return [
    'Differences of the mean rise; the intervals hold for all pairs together',
    text,
    ...moreLines(result.pairs.length - shown.length, 'pairs'),
    '',
  ];
}

/** Loads at which a pair is told apart only if the pipes hold, and the cooler then ahead. */
const ifPipesHold = (pair: Pair) => pair.resolved_if_pipes_hold ?? [];

function pairsTable(result: CompareResult, width: number): string[] {
  const told = byPlace(result).filter((pair) => pair.resolved.length > 0 || ifPipesHold(pair).length > 0);
  const withPipes = told.some((pair) => ifPipesHold(pair).length > 0);
  const shown = told.slice(0, MOST_ROWS);
  const lines = ['Which differences the test can tell'];
  if (shown.length > 0) {
    lines.push(
      table(
        [
          { title: 'ahead', align: 'left' },
          { title: 'of', align: 'left' },
          { title: 'told apart at', unit: 'W', align: 'left' },
          ...(withPipes ? [{ title: 'and, if the pipes hold, at', unit: 'W', align: 'left' } as const] : []),
        ],
        shown.flatMap((pair) =>
          [pair.a, pair.b].flatMap((better) => {
            const ranges = pair.resolved.filter((r) => r.better === better);
            const held = ifPipesHold(pair).filter((r) => r.better === better);
            if (ranges.length + held.length === 0) return [];
            const text = ranges.map((r) =>
              r.from_W === r.to_W ? plain(r.from_W) : `${plain(r.from_W)} to ${plain(r.to_W)}`,
            );
            return [
              [
                better,
                better === pair.a ? pair.b : pair.a,
                text.join('; ') || '-',
                ...(withPipes ? [held.map((r) => plain(r.power_W)).join(', ') || '-'] : []),
              ],
            ];
          }),
        ),
        { width },
      ),
    );
  }
  lines.push(...moreLines(told.length - shown.length, 'pairs'));
  const tied = result.pairs.length - told.length;
  if (tied === 1) lines.push('  The other pair is a tie at every load.');
  if (tied > 1)
    lines.push(`  ${told.length > 0 ? 'The other' : 'All'} ${tied} pairs are ties at every load.`);
  return [...lines, ''];
}

/** Budgets of the differences at the greatest load asked for. */
function budgetLines(result: CompareResult, width: number): string[] {
  if (!result.pairs[0]?.difference.at(-1)?.budget) return [];
  const rows = byPlace(result).flatMap(({ a, b, difference }) => {
    const budget = difference.at(-1)?.budget;
    return budget ? [{ names: [a, b], budget }] : [];
  });
  const at = result.loads.at(-1);
  if (rows.length === 0 || !at) return [];
  const heading = `Where the variance of the differences at ${load(at.power_W)} comes from`;
  return budgetTable(heading, ['cooler', 'less'], rows.slice(0, MOST_ROWS), width);
}

/** Pairs that are the same within the margin asked for, with their loads. */
function sameLines({ same_within: same, loads, level }: CompareResult, width: number): string[] {
  if (!same) return [];
  const heading = `The same within ${plain(same.margin_K)} K, both limits of the difference inside it at ${percent(level)} for all pairs together`;
  const rows = same.pairs.map(({ a, b, power_W }) => [
    a,
    b,
    power_W.length === loads.length ? 'all loads asked for' : power_W.map(plain).join(', '),
  ]);
  if (rows.length === 0)
    return [...wrap(`No pair is shown to be the same within ${plain(same.margin_K)} K.`, width), ''];
  const text = table(
    [
      { title: 'cooler', align: 'left' },
      { title: 'and', align: 'left' },
      { title: 'at', unit: 'W', align: 'left' },
    ],
    rows.slice(0, MOST_ROWS),
    { width },
  );
  return [...wrap(heading, width), text, ...moreLines(rows.length - MOST_ROWS, 'pairs'), ''];
}

/** Whether coolers share a letter at a load. */
const hasTie = ({ order }: LoadOrder): boolean => {
  const letters = order.flatMap(({ tiers }) => tiers);
  return new Set(letters).size < letters.length;
};

/**
 * What `compare` found, for a person: the answer, the order at each load, where it changes, and what can be told.
 *
 * @param width  columns of the terminal
 * @returns text with a line end after the last line
 */
export function compareTables(result: CompareResult, width = 80): string {
  const shown = digestLoads(result.loads);
  const budgets = budgetLines(result, width);
  const lines: string[] = [];
  for (const sentence of answer(result)) lines.push(...wrap(sentence, width));
  lines.push('');
  for (const at of shown) lines.push(...orderTable(at, result.level, width));
  lines.push(
    ...wrap(
      `Coolers that share a letter are not told apart at ${percent(result.level)}; their order in the table is then no ranking.`,
      width,
    ),
    '',
  );
  if (result.loads.length > 0 && result.pairs.length > 0) {
    const single = result.loads.length === 1;
    if (!single || result.pairs.some((pair) => pair.crossings.length > 0)) {
      lines.push(...crossingsTable(result, width));
    }
    lines.push(...(single ? differencesTable : pairsTable)(result, width), ...budgets);
    lines.push(...sameLines(result, width));
  }
  lines.push(...clockLines(result.clock, width), ...sourceTermLines(result.source_term, width));
  if (result.sound) lines.push(...soundTables(result.sound, result.level, width));
  const beyond =
    shown.some((at) => at.order.some((e) => e.extrapolated)) ||
    result.pairs.some((pair) => pair.crossings.some((c) => c.extrapolated));
  if (beyond) lines.push(BEYOND_FOOTNOTE);
  if (shown.some((at) => at.order.some((e) => e.above_limit))) lines.push(LIMIT_FOOTNOTE);
  const cut =
    shown.length < result.loads.length ||
    result.pairs.length > MOST_ROWS ||
    shown.some((at) => at.order.length > MOST_COOLERS);
  if (cut) {
    lines.push(
      ...wrap(
        `This is a digest of ${result.loads.length} loads and ${result.pairs.length} pairs; --json gives all of them.`,
        width,
      ),
    );
  }
  // Of a tie it is said what runs would break it, and of a budget what runs would halve it.
  if (shown.some(hasTie) || budgets.length > 0) lines.push(...wrap(SAFETY_IN_SHORT, width));
  while (lines[lines.length - 1] === '') lines.pop();
  return `${lines.join('\n')}\n`;
}
