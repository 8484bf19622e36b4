import { load, plain } from '../../answers/text/wording.ts';
import type { PagePlan } from '../page-plan.ts';
import { conditionWords, firstState } from '../state.ts';
import { type Chart, type Shown, thin } from './chart.ts';
import { numbers } from './chart-table.ts';
import { scatter } from './figure.ts';
import { bandShape, edgeToEdge, layoutOf, NARROW, remark } from './layout.ts';

function planOf({ answers: { data } }: Pick<Shown, 'answers'>): PagePlan {
  if (data.plan === null) throw new Error('a plan was asked for where there is none');
  return data.plan;
}

/** Where it is planned for, whatever the controls show now: how the report was asked, or what was asked of the page since. */
function question(shown: Shown): string {
  const { power_W, where = conditionWords(firstState(shown.answers)) } = planOf(shown);
  return `the order at ${load(power_W)}, ${where}`;
}

/** What a day on the bench would buy: the share of the pairs that are decided against the hours, and where to stop. */
export const planChart: Chart = {
  id: 'plan',
  title: 'What the next hours would buy',
  savedTitle: (shown) => `What ${plain(planOf(shown).asked_h)} h on the bench would buy`,
  savedUnder: question,
  follows: 'source',
  about: (shown) => {
    const { asked_h, curve, stop_after_hours } = planOf(shown);
    const [first, last] = [curve[0], curve[curve.length - 1]].map(({ answered }) => words(answered));
    const stop =
      stop_after_hours === null
        ? ''
        : stop_after_hours === 0
          ? ' That is less than one pair in twenty an hour: the bench is better used otherwise.'
          : ` The upright line is where to stop: after ${plain(Number(stop_after_hours.toFixed(2)))} h the rest decides less than one pair in twenty an hour.`;
    return `Planned for ${question(shown)}, with ${plain(asked_h)} h on the bench. The line is the share of the ${planOf(shown).pairs} pairs that are expected to be decided, all looks counted, after each visit to the bench: ${first} now and ${last} in the end.${stop}`;
  },
  label: (shown) => `Share of the pairs decided against hours. ${planChart.about(shown)}`,
  has: ({ data }) => data.plan !== null,
  height: (_, width) => Math.round(Math.min(330, Math.max(240, width * 0.36))),
  table: (shown) => ({
    caption: planChart.savedTitle(shown),
    columns: [numbers('hours', '', 2), numbers('share decided', '', 3)],
    rows: planOf(shown).curve.map(({ hours, answered }) => [hours, answered]),
  }),
  draw: (shown, ink, size) => {
    const { asked_h, curve, stop_after_hours, pairs } = planOf(shown);
    const stop_h = stop_after_hours ?? 0;
    const x = curve.map(({ hours }) => hours);
    const y = curve.map(({ answered }) => 100 * (answered ?? Number.NaN));
    const to_h = Math.max(asked_h, ...x);
    const last = y[y.length - 1];
    const title = size.width < NARROW ? 'pairs decided, %' : `share of the ${pairs} pairs decided, %`;
    return {
      data: [
        scatter({
          mode: 'lines+markers',
          x,
          y,
          line: { color: ink.text, width: 2 },
          marker: { symbol: 'circle', size: 7, color: ink.text },
          cliponaxis: false,
          hovertemplate: '%{y:.0f} % after %{x:.1f} h<extra></extra>',
        }),
      ],
      layout: {
        ...layoutOf(
          ink,
          size,
          { l: 58, r: 22, t: 18, b: 46 },
          { title: 'hours on the bench', range: [0, to_h * 1.02], bare: true },
          { title, range: [0, 104] },
        ),
        shapes: [
          ...bandShape([{ x, high: y, low: y.map(() => 0) }], thin(ink.quiet, 0.16)),
          ...(stop_h === 0
            ? []
            : [edgeToEdge({ x: stop_h }, { color: ink.text, width: 1, dash: '2px,3px' })]),
        ],
        annotations: [
          remark(words(last / 100), ink, {
            x: x[x.length - 1],
            y: last,
            xanchor: 'right',
            yanchor: last > 85 ? 'top' : 'bottom',
            yshift: last > 85 ? -8 : 8,
          }),
          ...(stop_h === 0
            ? []
            : [
                remark('enough', ink, {
                  x: stop_h,
                  yref: 'paper',
                  y: 0,
                  xanchor: stop_h > 0.8 * to_h ? 'right' : 'left',
                  yanchor: 'bottom',
                  xshift: stop_h > 0.8 * to_h ? -4 : 4,
                }),
              ]),
        ],
      },
    };
  },
};

const words = (share: number | null): string => `${Math.round(100 * (share ?? 0))} %`;
