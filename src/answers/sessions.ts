import type { Bench } from '../bench/bench.ts';
import { isZeroLoad } from '../bench/run.ts';
import type { FanDutyResult } from '../fit/fan-duties.ts';
import { fanDuties } from '../fit/fan-duties.ts';
import type { PlateAndRadiator } from '../fit/plate-and-radiator.ts';
import { plateAndRadiator } from '../fit/plate-and-radiator.ts';
import { benchWithRuns } from '../logs/bench-with-runs.ts';
import type { ControlChartResult, ControlSeries } from '../months/control-chart.ts';
import { type ControlChartOptions, controlChart } from '../months/control-chart.ts';
import type { DecisionRecord } from '../months/decision-record.ts';
import { decisionRecord } from '../months/decision-record.ts';
import type { MethodBridge, UnbridgedPair } from '../months/method-bridge.ts';
import { unbridgedPairs } from '../months/method-bridge.ts';
import { onOneMethod } from '../months/one-method.ts';
import { methodOf } from '../months/paired-runs.ts';
import { sessionsOf } from '../months/sessions.ts';
import { SAFETY_IN_SHORT } from '../report/safety.ts';
import type { Command } from './options/command.ts';
import { fault } from './options/conditions.ts';
import { answerFromBench, answerOptions } from './options/print-answer.ts';
import { table } from './text/table.ts';
import { wrap } from './text/text-width.ts';

export const command: Command = {
  name: 'sessions',
  operand: 'bench',
  about: `Says whether old and new results are comparable: the control chart of the
reference cooler over the sessions, the bridges between test methods, plate and
radiator of liquid coolers, fan speeds, and the record of published charts that
decisions.yaml keeps.`,
  example: 'heatladder sessions demo-bench',
  options: () => ({
    json: answerOptions.json,
    cooler: { value: 'NAME', describe: 'chart this cooler (default: reference_cooler of bench.yaml)' },
    chart: { value: 'FORM', describe: 'EWMA (default) or Shewhart' },
  }),
  run: (call) =>
    answerFromBench(
      call,
      (bench, conditions) => {
        const [cooler, ...more] = conditions.coolers ?? [];
        if (more.length > 0) throw fault('cooler', 'one cooler is charted; give one name');
        return sessions(bench, {
          ...(cooler !== undefined && { cooler }),
          form: readForm(call.options.chart),
          ...call.files.hashed(call.folder),
        });
      },
      sessionsTables,
    ),
};

function readForm(given: unknown): 'EWMA' | 'Shewhart' {
  if (given === undefined) return 'EWMA';
  const form = (['EWMA', 'Shewhart'] as const).find(
    (one) => one.toLowerCase() === String(given).toLowerCase(),
  );
  if (!form) throw fault('chart', `"${String(given)}" is not a form of chart; give EWMA or Shewhart`);
  return form;
}

export interface SessionSummary {
  /** Empty where the runs name none. */
  session: string;
  runs: number;
  coolers: number;
  methods: string[];
  /** Date of its earliest run; null where a run has none. */
  started: string | null;
}

/** Everything that bears on whether old and new results are comparable. */
export interface SessionsResult {
  bench: string;
  sessions: SessionSummary[];
  /** Null where no reference cooler is named or it has no runs. */
  control_chart: ControlChartResult | null;
  bridges: MethodBridge[];
  unbridged: UnbridgedPair[];
  loops: PlateAndRadiator['coolers'];
  fan_duties: FanDutyResult[];
  /** Null where the files were not given. */
  record: DecisionRecord | null;
  warnings: string[];
}

export interface SessionsOptions extends ControlChartOptions {
  /** The bench's files, as for `readBench`: with them the result holds the decision record. */
  files?: Map<string, Uint8Array>;
  /** SHA-256 of those files whose bytes are not all here; see `datasetIdentity`. */
  hashes?: ReadonlyMap<string, string>;
}

/**
 * Whether old and new results of a bench are comparable: its sessions, the control chart of the reference cooler, what joins
 * its test methods, plate and radiator of liquid coolers, fan speeds against duty, and the record of published charts.
 *
 * @throws BenchError where a cooler is asked for that has no runs, or at a fault of `decisions.yaml`
 */
export function sessions(whole: Bench, options: SessionsOptions = {}): SessionsResult {
  const bench = benchWithRuns(whole);
  const { files, hashes, ...chartOptions } = options;
  const summaries = sessionsOf(bench).map(({ session, runs }) => {
    const dates = runs.map((run) => run.started).filter((date) => date !== undefined);
    return {
      session,
      runs: runs.length,
      coolers: new Set(runs.map((run) => run.cooler)).size,
      methods: [...new Set(runs.map(methodOf))],
      started:
        dates.length === runs.length ? dates.reduce((a, b) => (Date.parse(b) < Date.parse(a) ? b : a)) : null,
    };
  });
  const warnings: string[] = [];
  let chart: SessionsResult['control_chart'] = null;
  const reference = options.cooler ?? bench.reference_cooler;
  if (reference !== undefined && (options.cooler !== undefined || isRun(bench, reference))) {
    chart = controlChart(bench, chartOptions);
    warnings.push(...chart.warnings);
  } else if (reference === undefined) {
    if (summaries.length > 1) {
      warnings.push(
        'no reference cooler is named, so a drift of the bench cannot be told from a difference between coolers; run one cooler in every session and name it in bench.yaml: reference_cooler: NAME',
      );
    }
  } else warnings.push(`the reference cooler ${reference} has no runs on the heater: no control chart`);
  const loops = plateAndRadiator(bench);
  const record = files ? decisionRecord(files, bench, hashes) : null;
  return {
    bench: bench.name,
    sessions: summaries,
    control_chart: chart,
    bridges: [...onOneMethod(bench).bridges],
    unbridged: unbridgedPairs(bench),
    loops: loops.coolers,
    fan_duties: fanDuties(bench),
    record,
    warnings: [...bench.warnings, ...warnings, ...loops.warnings, ...(record?.warnings ?? [])],
  };
}

function isRun(bench: Bench, cooler: string): boolean {
  return bench.runs.some((run) => run.cooler === cooler && run.source === 'heater' && !isZeroLoad(run));
}

/**
 * What `sessions` found, for a person: the sessions, the control chart of the reference cooler, the bridges between methods,
 * loops, fans, and the record of published charts. Parts that the bench has nothing for are left out.
 *
 * @returns text with a line end after the last line
 */
function sessionsTables(result: SessionsResult, width = 80): string {
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
