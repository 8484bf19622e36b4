/**
 * Everything that reads what a user gives, each with healthy inputs to be damaged. A target either takes its input or throws
 * BenchError; `RangeError` only where the function's documentation names it.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { parseNames, parseSeed } from '../../src/answers/options/conditions.ts';
import { parseLoads } from '../../src/answers/options/parse-loads.ts';
import { BenchError } from '../../src/bench/bench-error.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { shapeOf } from '../../src/bench/source.ts';
import { unlistedUnits } from '../../src/bench/unlisted-units.ts';
import { clockOf } from '../../src/compare/pair-clock.ts';
import { readPlan } from '../../src/design/plan-table.ts';
import { createEvaluator } from '../../src/formula/evaluate.ts';
import { fitFormula } from '../../src/formula/fit-formula.ts';
import { parseFormula } from '../../src/formula/parse.ts';
import { readModel } from '../../src/formula/read-model.ts';
import { demoBench } from '../../src/lab/demo-bench.ts';
import { createLogScanner, scanLog } from '../../src/logs/log-scanner.ts';
import { methodsOf } from '../../src/months/method-bridge.ts';
import { sessionsOf } from '../../src/months/sessions.ts';
import { readProfile } from '../../src/response/profile-table.ts';
import { readSource } from '../surfaces/read-source.ts';
import { damage } from './mutations.ts';

export interface Target {
  readonly name: string;
  /** Share of all inputs. */
  readonly share: number;
  readonly input: fc.Arbitrary<unknown>;
  /** @throws BenchError, or an error for which `documented` is true; anything else is a crash */
  readonly take: (input: never) => void;
  readonly documented?: (error: unknown) => boolean;
}

const encode = (text: string) => new TextEncoder().encode(text);
const decode = (bytes: Uint8Array) => new TextDecoder().decode(bytes);

function filesBelow(folder: string, below = ''): [string, Uint8Array][] {
  return readdirSync(join(folder, below), { withFileTypes: true }).flatMap((entry) => {
    const name = below === '' ? entry.name : `${below}/${entry.name}`;
    return entry.isDirectory()
      ? filesBelow(folder, name)
      : [[name, new Uint8Array(readFileSync(join(folder, name)))] as [string, Uint8Array]];
  });
}

const chip = `
chips:
  - chip: slate 8
    geometry: {face: {width_mm: 20, depth_mm: 20}, hot_spots: [{x_mm: 0, y_mm: 0, width_mm: 8, depth_mm: 8, share: 1}]}
    clock: {temperature_C: [60, 70, 80], clock_MHz: [5000, 4950, 4900], step_MHz: 25}
`;

/** @param root  the repository */
export function targets(root: string): Target[] {
  const full = new Map(filesBelow(join(root, 'test/bench/fixtures/full')));
  full.set('models/own.yaml', new Uint8Array(readFileSync(join(root, 'models/pipe_start.yaml'))));
  const demo = demoBench().files;
  const withChip = new Map(full);
  withChip.set('bench.yaml', encode(`name: attic${chip}`));
  const folders = [full, demo, withChip];
  const models = readdirSync(join(root, 'models'))
    .filter((name) => name.endsWith('.yaml'))
    .map((name) => new Uint8Array(readFileSync(join(root, 'models', name))));
  const sources = filesBelow(join(root, 'models/sources')).map(([, bytes]) => bytes);
  const formulas = [
    'R_c + R_a*n^(-m)',
    'if(P < 100, R_c, R_c + R_a*(P - 100)^2) / max(n, 0.1)',
    'min(R_c, R_a, m) * tanh(P/100) + atan(sin(n) * cos(n)) - abs(log10(P))',
    '-exp(-P/m)*sqrt(n) + log(1 + P)^2^0.5 + pi',
  ].map(encode);
  const log = encode(
    `time_s,source_C,ambient_C,power_W,fan_rpm\n${Array.from(
      { length: 120 },
      (_, k) => `${k * 5},${(22 + 30 * (1 - Math.exp(-k / 20))).toFixed(2)},22.0,150,1200`,
    ).join('\n')}\n`,
  );
  const plan = encode(
    'order,cooler,sample,power_W,fan_rpm,remount,minutes,gain\n1,A,1,150,1200,true,40,0.2\n2,B,1,220,900,no,30,0.1\n',
  );
  const donors = [...folders.flatMap((folder) => [...folder.values()]), ...models, ...formulas, log, plan];
  const damaged = (seeds: readonly Uint8Array[]) =>
    fc
      .tuple(fc.noBias(fc.constantFrom(...seeds)), damage(donors))
      .map(([seed, mutate]) => mutate(seed).slice(0, 300_000));

  const bench = fc
    .noBias(fc.constantFrom(...folders))
    .chain((folder) =>
      fc.tuple(
        fc.constant(folder),
        fc.array(fc.tuple(fc.noBias(fc.constantFrom(...folder.keys())), damage(donors)), {
          minLength: 1,
          maxLength: 3,
        }),
        fc.noBias(
          fc.option(
            fc.tuple(
              fc.constantFrom(...folder.keys()),
              fc.constantFrom(
                '',
                '../a.csv',
                'logs/../../a.csv',
                '__proto__',
                'models/..yaml',
                'flatness/x.csv',
                'a/bench.yaml',
                'LOGS.CSV',
              ),
            ),
            { freq: 6, nil: undefined },
          ),
        ),
      ),
    )
    .map(([folder, changes, moved]) => {
      const files = new Map(folder);
      for (const [name, mutate] of changes) files.set(name, mutate(files.get(name)!).slice(0, 300_000));
      if (moved) {
        const [from, to] = moved;
        const bytes = files.get(from)!;
        files.delete(from);
        if (to !== '') files.set(to, bytes);
      }
      return files;
    });

  return [
    {
      name: 'bench folder',
      share: 0.36,
      input: bench,
      take: (files: Map<string, Uint8Array>) => {
        unlistedUnits(files);
        const read = readBench(files);
        finite(
          read.runs,
          read.coolers,
          read.noise,
          read.flatness.flatMap((map) => map.points),
        );
        for (const { chip: name } of read.chips) {
          refusable(() => shapeOf(read, name));
          refusable(() => clockOf(read, name));
        }
        sessionsOf(read);
        methodsOf(read);
        for (const [path, text] of read.modelFiles) refusable(() => readModel(text, path));
      },
    },
    {
      name: 'log file',
      share: 0.15,
      input: damaged([log]),
      take: (bytes: Uint8Array) => {
        const whole = outcome(() => scanLog('logs/a.csv', bytes));
        const pieces = outcome(() => {
          const scanner = createLogScanner('logs/a.csv');
          for (let at = 0; at < bytes.length; at += 97) scanner.push(bytes.subarray(at, at + 97));
          return scanner.finish();
        });
        if ('error' in whole !== 'error' in pieces) {
          throw new Error(`whole and in pieces differ: ${JSON.stringify([whole.error, pieces.error])}`);
        }
        if (whole.error) throw whole.error;
      },
    },
    {
      name: 'model file',
      share: 0.15,
      input: damaged(models),
      take: (bytes: Uint8Array) => {
        readModel(decode(bytes), 'models/a.yaml');
      },
    },
    {
      name: 'formula',
      share: 0.15,
      input: damaged(formulas),
      take: (bytes: Uint8Array) => {
        const program = parseFormula(decode(bytes), { inputs: ['P', 'n'], parameters: ['R_c', 'R_a', 'm'] });
        const out = new Float64Array(2);
        const jacobian = new Float64Array(6);
        createEvaluator(program).withJacobian(
          [Float64Array.of(50, 200), Float64Array.of(0.4, 1)],
          [0.1, 0.05, 0.8],
          out,
          jacobian,
        );
        if (out.some((value) => typeof value !== 'number')) throw new Error('not a number');
      },
    },
    {
      name: 'fit of a formula',
      share: 0.02,
      input: damaged(formulas),
      take: (bytes: Uint8Array) => {
        fitFormula({
          formula: decode(bytes),
          data: {
            y: [0.3, 0.25, 0.22, 0.21, 0.2, 0.19],
            P: [40, 80, 120, 160, 200, 240],
            n: [1, 1, 0.8, 0.8, 0.5, 0.5],
          },
          start: { R_c: 0.1, R_a: 0.1, m: 0.8 },
          maxEvaluations: 2000,
        });
      },
      documented: (error) => error instanceof RangeError && !/stack/i.test(error.message),
    },
    {
      name: 'source file',
      share: 0.05,
      input: damaged(sources),
      take: (bytes: Uint8Array) => {
        readSource('models/sources/a.yaml', decode(bytes));
      },
    },
    {
      name: 'plan table',
      share: 0.04,
      input: damaged([plan]),
      take: (bytes: Uint8Array) => {
        finite([...readPlan('plan.csv', bytes)]);
      },
    },
    {
      name: 'load profile',
      share: 0.04,
      input: damaged([encode('time_s,power_W,fan_rpm\n0,120,1500\n600,0,900\n1200,180,\n')]),
      take: (bytes: Uint8Array) => {
        finite(readProfile('steps.csv', bytes));
      },
    },
    {
      name: 'options of the command line',
      share: 0.04,
      input: damaged(['150,250', '50:350:10', 'A,"B, black"', '12', 'r014,"A, black/1/2"'].map(encode)),
      take: (bytes: Uint8Array) => {
        const text = decode(bytes);
        refusable(() => parseLoads(text));
        refusable(() => parseNames(text));
        parseSeed(text);
      },
    },
  ];
}

function refusable(read: () => unknown): void {
  try {
    read();
  } catch (error) {
    if (!(error instanceof BenchError)) throw error;
  }
}

function outcome(read: () => unknown): { error?: Error } {
  try {
    read();
    return {};
  } catch (error) {
    return { error: error as Error };
  }
}

function finite(...tables: readonly (readonly object[])[]): void {
  for (const row of tables.flat()) {
    for (const [key, value] of Object.entries(row)) {
      if (typeof value === 'number' && !Number.isFinite(value)) throw new Error(`${key} is ${value}`);
    }
  }
}
