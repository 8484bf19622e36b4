/**
 * 400 damaged benches and command lines of people rather than of a fuzzer: node test/benchmarks/run.mjs probe [seed]
 *
 * Spreadsheets leave error values, blanks that are no blanks, minus signs that are none and headings over two columns; people paste the
 * wrong table, swap files, give an option twice or a unit with its value. Each is to be answered in finite numbers (status 0) or refused in one line
 * that says where (status 2); everything else is printed.
 */
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { init } from '../../src/answers/init.ts';
import { run } from '../../src/cli/run.ts';
import { makeRandom } from '../../src/lab/random.ts';

const random = makeRandom(Number(process.argv[2] ?? 1));
const pick = <T>(from: readonly T[]): T => from[Math.floor(random.uniform() * from.length)];
const folder = mkdtempSync(join(tmpdir(), 'heatladder-probe-'));
const sound = join(folder, 'sound');
for (const [name, bytes] of init()) {
  mkdirSync(join(sound, name, '..'), { recursive: true });
  writeFileSync(join(sound, name), bytes);
}

const CELLS = [
  '#REF!',
  '#N/A',
  'n/a',
  '-',
  '–',
  '\u221212,5',
  '12.5 W',
  '1e3',
  '0x1F',
  '1_000',
  "1'800",
  '1 800',
  '１２０',
  '\u00a0120',
  '∞',
  'NaN',
  '1/2',
  '=B2*2',
  '120±1',
  '>100',
  'ca. 120',
  '12:30',
  '2026-02-31',
  'TRUE',
  '',
  '  ',
  '"',
  '120;',
  '0',
  '-0',
  '1e-300',
  '1e300',
  '99999999999999999999',
];
const YAML_LINES = [
  'ambient: 22',
  'ambient: {setpoint_C: warm}',
  'ambient: {setpoint_C: 22, tolerance_K: -1}',
  'instruments: []',
  'heater: {power_max_W: 0}',
  'heater: {power_max_W: 1e9}',
  'heater: {leak_W_per_K: 5}',
  'heater: {face_mm: [37]}',
  'heater: {face_mm: [0, 0]}',
  'chips: {}',
  'chips: [{chip: heater}]',
  'name: ',
  'name: [a, b]',
  'columns: {power_W: power_W}',
  'columns: {nothing: power_W}',
  'reference_cooler: nobody',
  'planning: {heater_visit_min: -3}',
  '? [a, b]',
  '<<: *none',
  'a: &a [*a]',
  '!!js/function x: 1',
  'name: "\\u0007bell"',
  '\tname: tab',
  'ambient: {setpoint_C: 22',
  '--- second',
  '%YAML 9.9',
];
const OPTIONS = [
  '--power',
  '--power=',
  '--power 0',
  '--power -5',
  '--power 1e9',
  '--power 50:10:5',
  '--power 50:100:0',
  '--power 1:1e9:1e-3',
  '--power 120W',
  '--power 120,,140',
  '--power 120 --power 140',
  '--fan 0%',
  '--fan 101%',
  '--fan 1200',
  '--fan 1rpm',
  '--fan full',
  '--sound 36',
  '--sound 0',
  '--sound -10',
  '--sound 200',
  '--sound 36 --fan 60%',
  '--source nobody',
  '--source "Kestrel  2"',
  '--cooler nobody',
  '--cooler ,',
  '--cooler Siskin,Siskin',
  '--room -300',
  '--room 22',
  '--ambient 22',
  '--altitude 90000',
  '--limit 10',
  '--limit 20',
  '--limit 1e6',
  '--without nobody',
  '--without a//b',
  '--level 0.95',
  '--json=1',
  '--json --json',
  '--constructor=1',
  '--__proto__=1',
  '--toString',
  '-x',
  '-o',
  '-o .',
  '-o /nowhere/x.html',
  '--budget',
  '--budget=yes',
  '--paste any',
  '--paste some',
  '--hours 0',
  '--hours -1',
  '--hours 1e9',
  '--goal winner',
  '--goal pair:Siskin',
  '--goal pair:Siskin,nobody',
  '--goal nothing',
  '--margin -1',
  '--margin 0',
  '--target 0',
  '--target 1e9',
  '--repeats 0',
  '--help extra',
  '--version extra',
  '--',
  '-- --power 120',
];

const damage: ((text: Map<string, string>) => void)[] = [
  (files) => cellOf(files, 'runs.csv'),
  (files) => cellOf(files, 'coolers.csv'),
  (files) => cellOf(files, 'noise.csv'),
  (files) => change(files, 'runs.csv', (lines) => lines.map((line) => line.split(',').reverse().join(','))),
  (files) =>
    change(files, 'runs.csv', ([head, ...rows]) => [
      head.replace(pick(head.split(',')), pick(['Watts', 'T', 'Temp', '', 'power_W', 'Ort', 'x\u0007y'])),
      ...rows,
    ]),
  (files) =>
    change(files, 'runs.csv', ([head, ...rows]) => [
      head,
      ...rows.map((row) => row.replace(/,/g, () => (random.uniform() < 0.02 ? ';' : ','))),
    ]),
  (files) => change(files, 'runs.csv', (lines) => [...lines, ...lines]),
  (files) =>
    change(files, 'runs.csv', (lines) => [...lines.slice(0, 5), '', 'Total,,,,,,', ...lines.slice(5)]),
  (files) => change(files, 'runs.csv', (lines) => [lines[0]]),
  (files) => change(files, 'runs.csv', (lines) => lines.slice(0, 2)),
  (files) => files.set('runs.csv', files.get('coolers.csv') ?? ''),
  (files) => files.set('coolers.csv', files.get('runs.csv') ?? ''),
  (files) => files.set('bench.yaml', files.get('runs.csv') ?? ''),
  (files) => files.set('bench.yaml', `${files.get('bench.yaml')}\n${pick(YAML_LINES)}\n`),
  (files) => files.set('bench.yaml', pick(YAML_LINES)),
  (files) => files.delete(pick([...files.keys()])),
];

function change(files: Map<string, string>, name: string, to: (lines: string[]) => string[]): void {
  files.set(name, `${to((files.get(name) ?? '').trim().split(/\r?\n/)).join('\n')}\n`);
}

function cellOf(files: Map<string, string>, name: string): void {
  change(files, name, (lines) => {
    const row = 1 + Math.floor(random.uniform() * (lines.length - 1));
    const cells = (lines[row] ?? '').split(',');
    cells[Math.floor(random.uniform() * cells.length)] = pick(CELLS);
    return lines.map((line, k) => (k === row ? cells.join(',') : line));
  });
}

const COMMANDS = ['fit', 'predict', 'compare', 'plan', 'screen', 'sessions', 'flatness', 'reduce'];
const USUAL: Record<string, readonly string[]> = {
  plan: ['--target', '200', '--hours', '1'],
  predict: ['--cooler', 'Siskin'],
};
const counts = { answered: 0, refused: 0, odd: 0 };
for (let k = 0; k < 400; k++) {
  const bench = join(folder, 'bench');
  rmSync(bench, { recursive: true, force: true });
  cpSync(sound, bench, { recursive: true });
  const command = pick(COMMANDS);
  const words = [command, bench, ...(USUAL[command] ?? [])];
  let what = '';
  if (k % 2 === 0) {
    const names = ['bench.yaml', 'runs.csv', 'coolers.csv', 'noise.csv'];
    const files = new Map(names.map((name) => [name, readFileSync(join(bench, name), 'utf8')]));
    const at = Math.floor(random.uniform() * damage.length);
    damage[at](files);
    for (const name of names) {
      const text = files.get(name);
      if (text === undefined) rmSync(join(bench, name));
      else writeFileSync(join(bench, name), text);
    }
    what = `damage ${at}`;
  } else {
    const option = pick(OPTIONS);
    words.push(...option.split(' '));
    what = option;
  }
  let out = '';
  const faults: string[] = [];
  const status = await run(words, {
    fault: (line) => faults.push(line),
    output: {
      width: 80,
      result: (text) => (out += text),
      pieces: async (texts) => {
        for (const text of texts) out += text;
      },
      file: (text) => (out += text),
      warn: () => {},
    },
  });
  const isNumbers = !/\bNaN\b|\bInfinity\b|\bundefined\b|\[object /.test(out);
  const isOneLine = faults.length === 1 && !/\p{Cc}/u.test(faults[0]) && faults[0].length < 600;
  if (status === 0 && isNumbers && faults.length === 0) counts.answered++;
  else if (status === 2 && isOneLine && out === '') counts.refused++;
  else {
    counts.odd++;
    console.log(
      `${k} ${command} ${what}: status ${status}, ${faults.join(' | ').slice(0, 300)} ${out.match(/.*(NaN|Infinity|undefined|\[object ).*/)?.[0] ?? ''}`,
    );
  }
  if (process.env.HEATLADDER_LOUD)
    console.log(`${k} ${command} ${what}: ${status} ${faults.join(' | ').replaceAll(bench, 'BENCH')}`);
}
rmSync(folder, { recursive: true, force: true });
console.log(JSON.stringify(counts));
