import { clock, plain } from '../answers/text/wording.ts';
import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { plan } from '../design/plan.ts';
import type { PlanCurvePoint, PlanResult } from '../design/planned.ts';
import { posteriorFor } from '../fit/posterior-for.ts';
import type { Conditions } from '../predict/conditions.ts';
import { scrolledTable } from './fixed-sections.ts';
import { firstLoad } from './loads.ts';
import { escapeHtml } from './page/escape.ts';

/** What some hours on the bench would buy, as the page draws it. */
export interface PagePlan {
  /** The load at which the order of the coolers is asked for, and the hours that were asked for. */
  power_W: number;
  asked_h: number;
  /** The condition in words where it is not that which the page opens with. */
  where?: string;
  /** Share of the pairs that are decided, all looks counted, against the hours. */
  curve: Pick<PlanCurvePoint, 'hours' | 'answered'>[];
  /** After so many hours the rest buys little; null: it pays to the end. */
  stop_after_hours: number | null;
  pairs: number;
  /** HTML of what it comes to in sentences, and of the runs in their order. */
  runs: string;
}

/** A day on the bench. */
const HOURS = 8;
/** The work grows with the square of the coolers: of more the command `plan` tells. */
const MOST_COOLERS = 12;

/**
 * The plan of a day for the order of the coolers at the load that the page shows first.
 *
 * @param bench  with the runs that the page answers from
 * @returns `null` where there is nothing to plan, or too many coolers for a page to wait for
 */
export function pagePlan(bench: Bench, asked: Conditions, source: string): PagePlan | null {
  const { coolers } = posteriorFor(bench, source);
  const count = asked.coolers?.length ?? coolers.length;
  if (count < 2 || count > MOST_COOLERS) return null;
  const power_W = firstLoad(
    coolers.flatMap(({ data }) => [data.powerLow_W, data.powerHigh_W]),
    asked.power_W ?? [],
  );
  try {
    return planFor(bench, { conditions: { ...asked, source }, power_W, hours: HOURS });
  } catch (error) {
    if (error instanceof BenchError || error instanceof RangeError) return null;
    throw error;
  }
}

/** What is planned for: the order at a load and a condition, and the hours there are. */
export interface AskedPlan {
  conditions: Conditions;
  power_W: number;
  hours: number;
  /** See {@link PagePlan}. */
  where?: string;
}

/**
 * The plan for a goal.
 *
 * @throws BenchError where nothing can be planned for it
 */
export function planFor(bench: Bench, { conditions, power_W, hours, where }: AskedPlan): PagePlan {
  const { without: _w, orientation: _o, ...asked } = conditions;
  const result = plan(bench, { ...asked, target_W: power_W, hours });
  const { curve, stop_after_hours, pairs_in_all, sentences } = result.expected;
  // Where nothing is planned, the first sentence says why.
  if (result.runs.length === 0 || curve.length < 2) throw new BenchError('--hours', 1, 1, sentences[0]);
  return {
    power_W,
    asked_h: hours,
    ...(where !== undefined && { where }),
    curve: curve.map((point) => ({ hours: point.hours, answered: point.answered })),
    stop_after_hours,
    pairs: pairs_in_all,
    runs: runsHtml(result),
  };
}

const COLUMNS = [
  { name: 'run' },
  { name: 'cooler' },
  { name: 'sample' },
  { name: 'paste' },
  { name: 'load, W', number: true },
  { name: 'fan, rpm', number: true },
  { name: 'done at, h', number: true },
  { name: 'climb by, W' },
  { name: 'under' },
];

function runsHtml({ runs, decided, expected, warnings }: PlanResult): string {
  let minutes = 0;
  const rows = runs.map((run) => {
    minutes += run.minutes;
    return [
      plain(run.order),
      escapeHtml(run.cooler),
      escapeHtml(run.sample),
      run.remount ? 'fresh' : 'as it is',
      plain(run.power_W),
      plain(run.fan_rpm),
      clock(minutes),
      run.climb_W.map(plain).join(', '),
      escapeHtml(run.method ?? ''),
    ];
  });
  const items = [decided.sentence, ...expected.sentences, ...new Set(warnings)].map(
    (words) => `<li>${escapeHtml(words)}</li>`,
  );
  return `<ul class="answers">${items.join('')}</ul>
<h3>The next runs, in order</h3>
<p>Times: ${escapeHtml(expected.times)}. Before any heat: what stands at the end of this page.</p>
${scrolledTable('The next runs', COLUMNS, rows)}`;
}
