import { SAFETY_IN_SHORT } from '../../report/safety.ts';
import type { ControlSeries, SessionsResult } from '../../session-results.ts';
import { table } from './table.ts';
import { wrap } from './text-width.ts';

/**
 * What `sessions` found, for a person: the sessions, the control chart of the reference cooler, the bridges between methods,
 * loops, fans, and the record of published charts. Parts that the bench has nothing for are left out.
 *
 * @returns text with a line end after the last line
 */
export function sessionsTables(result: SessionsResult, width = 80): string {
  const parts = [
    sessionTable(result, width),
    ...chart(result, width),
    ...bridges(result, width),
    ...sentences(
      'Liquid coolers',
      result.loops.map((one) => one.verdict),
      width,
    ),
    ...fans(result, width),
    ...record(result, width),
  ];
  // Of procedures without a bridge it is said what runs would build one.
  if (result.unbridged.length > 0) parts.push(wrap(SAFETY_IN_SHORT, width).join('\n'));
  return `${parts.join('\n\n')}\n`;
}

const named = (name: string): string => (name === '' ? '(unnamed)' : name);

function sessionTable({ sessions }: SessionsResult, width: number): string {
  const rows = sessions.map((one) => [
    named(one.session),
    one.started ?? '-',
    String(one.runs),
    String(one.coolers),
    one.methods.map(named).join(', '),
  ]);
  return `Sessions\n${table(
    [
      { title: 'session', align: 'left' },
      { title: 'started', align: 'left' },
      { title: 'runs', align: 'right' },
      { title: 'coolers', align: 'right' },
      { title: 'methods', align: 'left' },
    ],
    rows,
    { width },
  )}`;
}

function chart({ control_chart }: SessionsResult, width: number): string[] {
  if (!control_chart) return [];
  const { cooler, form, power_W, false_alarm_every, series, verdict } = control_chart;
  const head = wrap(
    `Control chart of ${cooler} (${form}; one false alarm in about ${Math.round(false_alarm_every)} sessions of a series)`,
    width,
  );
  const tables = series.map((one) => seriesTable(one, power_W, width));
  return [[...head, ...tables, ...wrap(verdict, width)].join('\n')];
}

function seriesTable(
  { quantity, points, finds_1_K_after_sessions }: ControlSeries,
  power_W: number,
  width: number,
): string {
  const signed = (value: number | null) =>
    value === null ? '-' : `${value < 0 ? '-' : '+'}${Math.abs(value).toFixed(2)}`;
  const rows = points.map((point) => [
    named(point.session),
    String(point.mounts),
    signed(point.value_K),
    signed(point.average_K),
    point.limit_K === null ? '-' : point.limit_K.toFixed(2),
    point.state,
  ]);
  const what =
    quantity === 'rise' ? `Rise at ${Math.round(power_W)} W` : 'The same at every load: the sensors';
  const finds =
    finds_1_K_after_sessions === null
      ? ''
      : `; a lasting shift of 1 K would show after ${finds_1_K_after_sessions.toFixed(1)} sessions on average`;
  const body = table(
    [
      { title: 'session', align: 'left' },
      { title: 'mounts', align: 'right' },
      { title: 'shift', unit: 'K', align: 'right' },
      { title: 'average', unit: 'K', align: 'right' },
      { title: 'limit', unit: '± K', align: 'right' },
      { title: 'state', align: 'left' },
    ],
    rows,
    { width },
  );
  return [...wrap(`${what}${finds}`, width), body].join('\n');
}

function bridges({ bridges: found, unbridged }: SessionsResult, width: number): string[] {
  return sentences(
    'Test methods',
    [...found.map((one) => one.verdict), ...unbridged.map((one) => one.verdict)],
    width,
  );
}

function fans({ fan_duties }: SessionsResult, width: number): string[] {
  const lines = fan_duties.map(({ cooler, points, sample_share }) => {
    const curve = points
      .map((point) => `${point.duty_percent} % ${Math.round(point.fan_rpm)} rpm`)
      .join(', ');
    const spread =
      sample_share === null
        ? 'one sample only, so how far fans differ is not known'
        : `fans of its samples differ by ${(100 * sample_share).toFixed(1)} % (standard deviation)`;
    return `${cooler}: ${curve}; ${spread}.`;
  });
  return sentences('Fan speed at a duty', lines, width);
}

function record({ record: found }: SessionsResult, width: number): string[] {
  if (!found) return [];
  const lines = found.charts.flatMap((chart) => [
    chart.verdict,
    ...chart.excluded.map(({ name, reason }) => `left out: ${name}, ${reason}`),
    ...chart.corrections.map(({ date, what }) => `corrected ${date}: ${what}`),
  ]);
  return sentences('Record', [`dataset ${found.dataset}`, ...lines], width);
}

function sentences(title: string, lines: readonly string[], width: number): string[] {
  if (lines.length === 0) return [];
  return [[title, ...lines.flatMap((line) => wrap(`  ${line}`, width, 4))].join('\n')];
}
