import { load, plain } from '../../answers/text/wording.ts';
import { symbol } from '../page/marks.ts';
import type { PageParting } from '../page-data.ts';
import { type Chart, type Ink, lettering, type Shown, thin, unmarked } from './chart.ts';
import { numbers } from './chart-table.ts';
import { type Annotation, errorBars, scatter, type Trace } from './figure.ts';
import { bandShape, edgeToEdge, layoutOf, NARROW, remark } from './layout.ts';

const MINUTE = 60;

/** The mount that is looked at: the one chosen, or the first. */
const partingOf = ({ answers: { data }, view }: Shown): PageParting =>
  data.partings.find((one) => one.run === view.parting) ?? data.partings[0];

const mountOf = ({ cooler, sample, mount }: PageParting): string => `${cooler}, ${sample}/${mount}`;

const share = (value: number): string => plain(Math.round(100 * value));

/** Blocks of the log less what the other mount's response says there. */
function blocksOf(
  { answers: { data } }: Shown,
  { run, mate }: PageParting,
): { t_s: number; apart_K: number }[] {
  const log = data.logs.find((one) => one.run === run);
  return (log?.time_s ?? []).map((t_s, k) => {
    const expected = mate.amplitudes_K.reduce(
      (rise, a, i) => rise - a * Math.exp(-t_s / mate.time_constants_s[i]),
      mate.asymptote_K,
    );
    return { t_s, apart_K: (log?.rise_K[k] ?? 0) - expected };
  });
}

/**
 * How a strange mount's log parts from that of another mount of its cooler: a film of paste parts them at once, a slow fan only when the heat
 * has reached the fins.
 */
export const partingChart: Chart = {
  id: 'parting',
  title: 'Where the fault sits, by two logs',
  savedTitle: (shown) => `${mountOf(partingOf(shown))}: how its log parts from another mount’s`,
  savedUnder: (shown) => {
    const { run, beside, power_W } = partingOf(shown);
    return `run ${run} less run ${beside} at ${load(Math.round(power_W))}, since the load step`;
  },
  follows: 'source',
  about: (shown) => {
    const { run, beside, apart_K, at_s, share: there, u, expected, cause } = partingOf(shown);
    const end_K = apart_K[apart_K.length - 1];
    const would = `a film of paste would have ${share(expected.interface)} %, a slow fan ${share(expected.airflow)} %, a leak ${share(expected.leak)} %, a sensor that is off all of it`;
    return `Run ${run} of ${mountOf(partingOf(shown))} ends ${Math.abs(end_K).toFixed(1)} K ${end_K > 0 ? 'warmer' : 'cooler'} than run ${beside} of another mount. The strong line is how that difference grew after the load step, marks are the log itself. The paler lines are the same difference in the end by a film of paste, which is felt within seconds, and by a slow fan, which is felt when the heat has reached the fins. After ${plain(Math.round(at_s))} s, when those two would be farthest apart, ${share(there)} ± ${share(1.96 * u)} % of it was there (95 %): ${would}. Screening names the cause: ${cause}.`;
  },
  label: (shown) =>
    `Difference of two mounts’ rises against time, beside what a film of paste and a slow fan would give. ${partingChart.about(shown)}`,
  has: ({ data }) => data.partings.length > 0,
  height: (_, width) => Math.round(Math.min(400, Math.max(300, width * 0.42))),
  table: (shown) => {
    const { time_s, apart_K, interface_K, airflow_K } = partingOf(shown);
    const kelvin = { unit: 'K', kind: 'number' as const, decimals: 2 };
    return {
      caption: partingChart.savedTitle(shown),
      columns: [
        numbers('time', 's', 1),
        { name: 'difference', ...kelvin },
        { name: 'by a film of paste', ...kelvin },
        { name: 'by a slow fan', ...kelvin },
      ],
      rows: time_s.map((t, k) => [t, apart_K[k], interface_K[k], airflow_K[k]]),
    };
  },
  draw: (shown, ink, size) => {
    const one = partingOf(shown);
    const { time_s, apart_K, interface_K, airflow_K, at_s } = one;
    const place = shown.answers.places.get(one.cooler) ?? 0;
    const end_s = time_s[time_s.length - 1];
    const blocks = blocksOf(shown, one).filter(({ t_s }) => t_s <= end_s);
    const all = [0, ...apart_K, ...interface_K, ...airflow_K, ...blocks.map((b) => b.apart_K)];
    const [low, high] = [Math.min(...all), Math.max(...all)];
    const air = (high - low) * 0.08;
    const minutes = time_s.map((t) => t / MINUTE);
    const line = (y: readonly number[], color: string, width: number, dash: string, what: string) =>
      scatter({
        mode: 'lines',
        x: minutes,
        y,
        line: { color, width, dash, simplify: false },
        hovertemplate: `%{y:.2f} K after %{x:.1f} min<extra>${what}</extra>`,
      });
    return {
      data: [
        scatter({
          mode: 'markers',
          x: blocks.map((b) => b.t_s / MINUTE),
          y: blocks.map((b) => b.apart_K),
          marker: { symbol: symbol(place), size: 5, color: thin(ink.hue(place), 0.55) },
          hovertemplate: '%{y:.2f} K after %{x:.1f} min<extra></extra>',
        }),
        line(interface_K, ink.quiet, 1.5, '6px,4px', 'a film of paste'),
        line(airflow_K, ink.quiet, 1.5, '2px,3px', 'a slow fan'),
        line(apart_K, ink.hue(place), 2.5, 'solid', unmarked(mountOf(one))),
        toldAt(one, place, ink),
      ],
      layout: {
        ...layoutOf(
          ink,
          size,
          { l: 58, r: 16, t: 14, b: 46 },
          { title: 'time since the load step, min', range: [0, end_s / MINUTE], bare: true },
          {
            title: size.width < NARROW ? 'difference, K' : 'difference of the two mounts, K',
            range: [low - air, high + air],
          },
        ),
        shapes: [
          ...bandShape([{ x: minutes, high: interface_K, low: airflow_K }], thin(ink.quiet, 0.1)),
          edgeToEdge({ y: 0 }, { color: ink.text, width: 1 }),
          edgeToEdge({ x: at_s / MINUTE }, { color: ink.quiet, width: 1, dash: '2px,3px' }),
        ],
        annotations: wordsIn(shown, ink, one),
      },
    };
  },
};

/** The difference at the time at which it is told, with what is not known of it. */
function toldAt({ time_s, apart_K, at_s, u }: PageParting, place: number, ink: Ink): Trace {
  const value = apart_K[time_s.indexOf(at_s)];
  const half_K = 1.96 * u * Math.abs(apart_K[apart_K.length - 1]);
  const color = ink.hue(place);
  return scatter({
    mode: 'markers',
    x: [at_s / MINUTE],
    y: [value],
    marker: { symbol: symbol(place), size: 11, color, line: { width: 1.5, color: ink.paper } },
    error_y: errorBars([{ value, low: value - half_K, high: value + half_K }], color, 2),
    hoverinfo: 'skip',
  });
}

/** Which line is whose. */
function wordsIn({ answers: { places } }: Shown, ink: Ink, one: PageParting): Annotation[] {
  const { time_s, apart_K, interface_K, airflow_K, at_s, cooler } = one;
  const [at, last] = [time_s.indexOf(at_s), time_s.length - 1];
  const x = at_s / MINUTE;
  const upwards = apart_K[last] > 0;
  const word = (text: string, place: Partial<Annotation>, over: boolean): Annotation =>
    remark(text, ink, {
      ...place,
      yanchor: over === upwards ? 'bottom' : 'top',
      yshift: over === upwards ? 5 : -4,
    });
  // Its name stands on the side of the mark where the band is free.
  const isBeyondMiddle = Math.abs(apart_K[at]) > Math.abs(interface_K[at] + airflow_K[at]) / 2;
  return [
    word(
      'a film of paste would',
      {
        xref: 'paper',
        x: 1,
        xanchor: 'right',
        xshift: -2,
        y: Math[upwards ? 'max' : 'min'](interface_K[last], apart_K[last]),
      },
      true,
    ),
    word('a slow fan would', { x, xanchor: 'left', xshift: 8, y: 0 }, false),
    {
      ...word(
        unmarked(`${mountOf(one)} did`),
        { x, y: apart_K[at], xanchor: 'left', xshift: 10 },
        !isBeyondMiddle,
      ),
      font: { color: lettering(ink.hue(places.get(cooler) ?? 0), ink), size: 12.5 },
    },
  ];
}
