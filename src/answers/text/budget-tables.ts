import type { BudgetPart, BudgetShare } from '../../predict/budget.ts';
import { table } from './table.ts';
import { wrap } from './text-width.ts';
import { listOf } from './wording.ts';

/** An interval of a budget: whose it is, one cell each, and its parts. */
export interface BudgetRow {
  readonly names: readonly string[];
  readonly budget: readonly BudgetShare[];
}

/** Parts with less than this share everywhere have no column; what is said of halving is said of parts from here on. */
const LEAST_SHARE = 0.005;
const WORTH_HALVING = 0.2;
const MOST_NAMES = 4;

/**
 * The variance of some intervals by where it comes from, a row each in per cent, and what would halve the large parts.
 *
 * @param titles  of the columns of names
 */
export function budgetTable(
  heading: string,
  titles: readonly string[],
  rows: readonly BudgetRow[],
  width: number,
): string[] {
  const shareOf = ({ budget }: BudgetRow, from: BudgetPart) =>
    budget.find((part) => part.from === from)?.share ?? 0;
  const all = [...new Set(rows.flatMap(({ budget }) => budget.map(({ from }) => from)))];
  const shown = all.filter((from) => rows.some((row) => shareOf(row, from) >= LEAST_SHARE));
  if (shown.length === 0) return [];
  const said = new Map<string, string[]>();
  for (const { names, budget } of rows) {
    for (const { from, share, halved_by } of budget) {
      if (share < WORTH_HALVING) continue;
      const what = `${from}: ${halved_by}`;
      said.set(what, [...(said.get(what) ?? []), names.join(' less ')]);
    }
  }
  return [
    ...wrap(heading, width),
    table(
      [
        ...titles.map((title) => ({ title, align: 'left' as const })),
        ...shown.map((title) => ({ title, unit: '%', align: 'right' as const })),
      ],
      rows.map((row) => [...row.names, ...shown.map((from) => String(Math.round(100 * shareOf(row, from))))]),
      { width },
    ),
    ...(said.size > 0 ? ['What would about halve the large parts'] : []),
    ...[...said].flatMap(([what, of]) =>
      wrap(
        `${what} (${of.length === rows.length && of.length > 1 ? 'all' : listOf(of, MOST_NAMES)})`,
        width,
        2,
      ),
    ),
    '',
  ];
}
