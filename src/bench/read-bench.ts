import type { Bench, Chip, Cooler, LogEntry, NoiseReading, Run } from './bench.ts';
import { BenchError } from './bench-error.ts';
import { readBenchYaml } from './bench-yaml.ts';
import { type ReadOptions, unitFault } from './columns.ts';
import { type CoolerRow, coolersPlan, readCoolers } from './coolers-table.ts';
import { flatnessPlan, readFlatness } from './flatness-table.ts';
import { logsPlan, readLogsIndex } from './logs-index.ts';
import { didYouMean, nearestName } from './nearest-name.ts';
import { noisePlan, readNoise } from './noise-table.ts';
import { twinNames } from './plausible-runs.ts';
import { acceptedNames, type Quantity, readName } from './quantity.ts';
import { readRuns, runsPlan } from './runs-table.ts';
import { defaultChip } from './source.ts';
import { readText } from './table.ts';
import { counted, listed, shown } from './wording.ts';

/**
 * Reads a bench from the bytes of its files.
 *
 * Only `bench.yaml` and one of `runs.csv` or `logs.csv` with its logs are required. Everything is checked on the way
 * in and converted to the bench's own units (W, K, °C, rpm, dBA, s, mm, µm), so that no later stage meets a value that
 * is not finite, a name that is empty or a quantity in another unit. What is odd but no reason to stop is told in
 * `warnings`.
 *
 * @param files  bytes by path inside the bench folder, with forward slashes; one folder name in front of all is taken off
 * @returns the bench, in the units of its names
 * @param allowEmpty  whether a bench may be without runs and logs, as before its first run; default false
 * @throws BenchError at the file, line and column of the first fault
 * @example
 * const text = (s: string) => new TextEncoder().encode(s);
 * readBench(new Map([
 *   ['bench.yaml', text('name: attic')],
 *   ['runs.csv', text('cooler,power_kW,fan_rpm,source_C,ambient_C,mount\nA,0.15,900,61.5,22,1\n')],
 * ])).runs[0].power_W // 150
 */
export function readBench(
  files: Map<string, Uint8Array>,
  { allowEmpty = false }: { allowEmpty?: boolean } = {},
): Bench {
  const folder = withoutLeadingFolder(files);
  const settings = readSettings(folder);
  const { columns, warnings } = settings;
  const options = { columns, warnings };
  const { runs, logs, logFiles } = readRunsAndLogs(folder, settings, options, allowEmpty);

  const coolersFile = folder.get('coolers.csv');
  const coolerRows = coolersFile ? readCoolers('coolers.csv', coolersFile, options) : [];
  const names = new Set([...runs, ...logs, ...coolerRows].map((row) => row.cooler));
  const noiseFile = folder.get('noise.csv');
  const noise = noiseFile ? readNoise('noise.csv', noiseFile, names, options) : [];
  const coolers = gatherCoolers(names, coolerRows, runs, noise, warnings);
  if (coolersFile) warnOfUnlistedCoolers(coolerRows, runs, logs, warnings);
  const stated = new Set(coolerRows.map((row) => row.cooler));
  warnings.push(...twinNames('runs.csv', runs, stated), ...twinNames('logs.csv', logs, stated));
  refuseUnknownReference(settings, names);

  const flatness = [...filesBelow(folder, 'flatness/', '.csv')].map(([name, bytes]) =>
    readFlatness(`flatness/${name}`, bytes, names, options),
  );
  const modelFiles = new Map<string, string>();
  for (const [path, bytes] of folder) {
    if (/^models\/[^/]+\.ya?ml$/.test(path)) modelFiles.set(path, readText(path, bytes, 256 * 1024));
  }
  return {
    name: settings.name,
    ambient: settings.ambient,
    ...(settings.altitude_m !== undefined && { altitude_m: settings.altitude_m }),
    instruments: settings.instruments,
    heater: settings.heater,
    chips: withUnlistedChips(settings.chips, runs, logs, warnings),
    methods: settings.methods,
    sessions: settings.sessions,
    reference_cooler: settings.reference_cooler,
    ...(Object.keys(columns).length > 0 && { columns }),
    runs,
    coolers,
    noise,
    flatness,
    logs,
    logFiles,
    modelFiles,
    warnings,
    files: [...folder.keys()].filter(isRead),
    extra: settings.extra,
  };
}

type Settings = ReturnType<typeof readBenchYaml>;

/** `bench.yaml`, without which there is no bench. */
function readSettings(folder: ReadonlyMap<string, Uint8Array>): Settings {
  const file = folder.get('bench.yaml');
  if (!file) {
    const found = [...folder.keys()].filter((path) => !path.includes('/'));
    const misnamed = found.find((path) => /^bench\.ya?ml$/i.test(path)) ?? nearestName('bench.yaml', found);
    const hint = misnamed
      ? `rename ${shown(misnamed)} to bench.yaml`
      : 'a bench folder holds bench.yaml and runs.csv or logs.csv';
    throw new BenchError('bench.yaml', 1, 1, `the file is missing; ${hint}`);
  }
  const settings = readBenchYaml('bench.yaml', file);
  refuseMistypedColumns(settings.columns, settings.fault);
  return settings;
}

/** `runs.csv` and `logs.csv` with the files of its logs; one row in either, unless the bench may be empty. */
function readRunsAndLogs(
  folder: Map<string, Uint8Array>,
  settings: Settings,
  options: ReadOptions,
  allowEmpty: boolean,
): Pick<Bench, 'runs' | 'logs' | 'logFiles'> {
  const runsFile = folder.get('runs.csv');
  const logsFile = folder.get('logs.csv');
  if (!runsFile && !logsFile && !allowEmpty) {
    const near = nearestName('runs.csv', folder.keys());
    const hint = near ? ` (is ${shown(near)} meant to be runs.csv?)` : '';
    throw new BenchError(
      'runs.csv',
      1,
      1,
      `the bench has neither runs.csv nor logs.csv; add one of them${hint}`,
    );
  }
  const runs = runsFile ? readRuns('runs.csv', runsFile, settings, options) : [];
  const logFiles = filesBelow(folder, 'logs/', '.csv');
  const logs = logsFile ? readLogsIndex('logs.csv', logsFile, new Set(logFiles.keys()), options) : [];
  if (!logsFile && logFiles.size > 0) {
    options.warnings.push(
      `logs.csv:1:1: ${counted(logFiles.size, 'file')} in logs but no index logs.csv; the logs are not read`,
    );
  }
  if (runs.length === 0 && logs.length === 0 && !allowEmpty) {
    throw new BenchError(
      runsFile ? 'runs.csv' : 'logs.csv',
      1,
      1,
      'there is no row below the header; a bench needs at least one run',
    );
  }
  return { runs, logs, logFiles };
}

function refuseUnknownReference({ reference_cooler, fault }: Settings, names: ReadonlySet<string>): void {
  if (reference_cooler === undefined || names.has(reference_cooler)) return;
  const hint = didYouMean(reference_cooler, names) || `; accepted are ${listed([...names].slice(0, 20))}`;
  throw fault(
    ['reference_cooler'],
    `reference_cooler ${shown(reference_cooler)} is not a cooler of the bench${hint}`,
  );
}

/** Names that `columns` may give: those of every table and of logs. */
const columnPlans = [runsPlan, logsPlan, coolersPlan, noisePlan, flatnessPlan];
const time: Quantity = { quantity: 'time', dimension: 'time' };

function refuseMistypedColumns(
  columns: Readonly<Record<string, string>>,
  fault: (path: readonly string[], what: string) => BenchError,
): void {
  const texts = columnPlans.flatMap((plan) => plan.texts.map((text) => text.name));
  const numbers = [time, ...columnPlans.flatMap((plan) => plan.numbers)];
  for (const [heading, name] of Object.entries(columns)) {
    if (name === '' || name === 'time' || texts.includes(name)) continue;
    const reading = readName(name, numbers);
    if (reading.kind === 'read') continue;
    const at = ['columns', heading];
    if (reading.kind !== 'other') throw fault(at, unitFault(name, name, reading));
    const near = didYouMean(name, [...texts, ...numbers.flatMap(acceptedNames)]);
    if (near)
      throw fault(at, `${shown(name)} is not a column that is read${near}; "" carries a column along unread`);
  }
}

/** Whether a file of the folder belongs to the bench. */
export function isRead(path: string): boolean {
  return (
    /^(bench\.yaml|runs\.csv|logs\.csv|coolers\.csv|noise\.csv)$/.test(path) ||
    /^(logs\/.+|flatness\/[^/]+)\.csv$/.test(path) ||
    /^models\/[^/]+\.ya?ml$/.test(path)
  );
}

/** The files by path inside the bench, sorted; a folder picker puts the folder's own name before every path. */
export function withoutLeadingFolder(files: Map<string, Uint8Array>): Map<string, Uint8Array> {
  const paths = [...files.keys()];
  let prefix = '';
  if (!files.has('bench.yaml')) {
    const first = paths[0]?.split('/')[0];
    if (first !== undefined && paths.every((path) => path.startsWith(`${first}/`))) {
      const inside = paths.map((path) => path.slice(first.length + 1));
      if (inside.some((path) => !path.includes('/'))) prefix = `${first}/`;
    }
  }
  return new Map(
    paths
      .map((path): [string, Uint8Array] => [path.slice(prefix.length), files.get(path)!])
      .sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0)),
  );
}

function filesBelow(files: Map<string, Uint8Array>, folder: string, ending: string): Map<string, Uint8Array> {
  const below = new Map<string, Uint8Array>();
  for (const [path, bytes] of files) {
    if (path.startsWith(folder) && path.endsWith(ending) && isRead(path))
      below.set(path.slice(folder.length), bytes);
  }
  return below;
}

function gatherCoolers(
  names: ReadonlySet<string>,
  rows: readonly CoolerRow[],
  runs: readonly Run[],
  noise: readonly NoiseReading[],
  warnings: string[],
): Cooler[] {
  const stated = new Map(rows.map((row) => [row.cooler, row]));
  const fastest = new Map<string, { fan_rpm: number; place: string }>();
  const see = (cooler: string, fan_rpm: number, place: string) => {
    const seen = fastest.get(cooler);
    if (!seen || fan_rpm > seen.fan_rpm) fastest.set(cooler, { fan_rpm, place });
  };
  for (const run of runs) see(run.cooler, run.fan_rpm, `runs.csv:${run.line}:1`);
  for (const reading of noise) see(reading.cooler, reading.fan_rpm, `noise.csv:${reading.line}:1`);
  return [...names].map((name): Cooler => {
    const row = stated.get(name);
    const seen = fastest.get(name);
    if (!row) {
      return {
        cooler: name,
        kind: 'air',
        fan_max_rpm: seen?.fan_rpm ?? 0,
        fan_max_stated: false,
        extra: Object.create(null),
      };
    }
    const { line, ...cooler } = row;
    for (const key of Object.keys(cooler) as (keyof Cooler)[])
      if (cooler[key] === undefined) delete cooler[key];
    if (!cooler.fan_max_stated) {
      const fan_max_rpm = seen?.fan_rpm ?? 0;
      if (cooler.fan_min_rpm !== undefined && seen && cooler.fan_min_rpm > fan_max_rpm) {
        warnings.push(
          `coolers.csv:${line}:1: fan_min_rpm of ${shown(name)} is ${cooler.fan_min_rpm}, above the highest speed seen, ${fan_max_rpm}`,
        );
      }
      return { ...cooler, fan_max_rpm };
    }
    if (seen && seen.fan_rpm > 0 && cooler.fan_max_rpm === 0) {
      warnings.push(
        `${seen.place}: ${shown(name)} turns at ${seen.fan_rpm} rpm, but its fan_max_rpm in coolers.csv is 0, which is a cooler without a fan; the highest speed seen is taken`,
      );
      return { ...cooler, fan_max_rpm: seen.fan_rpm, fan_max_stated: false };
    }
    if (seen && seen.fan_rpm > cooler.fan_max_rpm * 1.05) {
      warnings.push(
        `${seen.place}: ${shown(name)} turns at ${seen.fan_rpm} rpm, more than 5 % above its fan_max_rpm of ${cooler.fan_max_rpm} in coolers.csv`,
      );
    }
    return cooler;
  });
}

/** Coolers that were run but are not in coolers.csv, and whether a row that was never run has nearly the name. */
function warnOfUnlistedCoolers(
  rows: readonly CoolerRow[],
  runs: readonly Run[],
  logs: readonly LogEntry[],
  warnings: string[],
): void {
  const listedNames = new Set(rows.map((row) => row.cooler));
  const used = new Map<string, string>();
  for (const run of runs) if (!used.has(run.cooler)) used.set(run.cooler, `runs.csv:${run.line}:1`);
  for (const log of logs) if (!used.has(log.cooler)) used.set(log.cooler, `logs.csv:${log.line}:1`);
  const idle = [...listedNames].filter((name) => !used.has(name));
  const without: string[] = [];
  for (const [name, place] of used) {
    if (listedNames.has(name)) continue;
    const near = nearestName(name, idle);
    if (near !== undefined) {
      warnings.push(
        `${place}: cooler ${shown(name)} has no row in coolers.csv, where ${shown(near)} has no run; are they the same?`,
      );
    } else without.push(shown(name));
  }
  if (without.length > 0) {
    const which = listed(without, 'and');
    warnings.push(
      `coolers.csv:1:1: no row for ${which}: taken as air cooled, pipes and speed range not known`,
    );
  }
}

/** Sources that `chips` does not list are chips with the defaults; a name close to a known one is perhaps mistyped. */
function withUnlistedChips(
  chips: readonly Chip[],
  runs: readonly Run[],
  logs: readonly LogEntry[],
  warnings: string[],
): Chip[] {
  const known = new Set(['heater', ...chips.map((chip) => chip.chip)]);
  const unlisted = new Map<string, string>();
  const look = (file: string, rows: readonly { source: string; line: number }[]) => {
    for (const { source, line } of rows) {
      if (!known.has(source) && !unlisted.has(source)) unlisted.set(source, `${file}:${line}:1`);
    }
  };
  look('runs.csv', runs);
  look('logs.csv', logs);
  for (const [source, place] of unlisted) {
    const hint = didYouMean(source, known);
    if (hint)
      warnings.push(
        `${place}: source ${shown(source)} is taken as a chip with the default uncertainties${hint}`,
      );
  }
  return [...chips, ...Array.from(unlisted.keys(), defaultChip)];
}
