import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { transformSync } from 'esbuild';
import { afterEach, describe, expect, it } from 'vitest';
import { runsPlan } from '../../src/bench/runs-table.ts';
import { posteriorFor } from '../../src/fit/posterior-for.ts';
import { parseFormula } from '../../src/formula/parse.ts';
import * as library from '../../src/index.ts';
import { energySum } from '../../src/sound/energy-sum.ts';
import { fitFanSound } from '../../src/sound/fan-sound.ts';
import { shippedSource } from '../../src/surfaces/shipped-sources.ts';
import { readFixture } from '../golden/benches.ts';

/**
 * Every `@example` of a doc comment is run, among what its file and the library export and the names given here; what it states
 * behind `//` has to come out, to the digits that are written. `…` stands for what is left out; words in place of a value are not compared.
 */
const root = fileURLToPath(new URL('../../src/', import.meta.url));

interface Example {
  file: string;
  line: number;
  code: string;
  stated: string;
}

function examplesOf(file: string): Example[] {
  const source = readFileSync(join(root, file), 'utf8');
  return [...source.matchAll(/\/\*\*[\s\S]*?\*\//g)].flatMap((comment) => {
    const text = comment[0].replace(/\s*\*\/$/, '').replace(/^[ \t]*(?:\/\*\*|\*) ?/gm, '');
    return [...text.matchAll(/@example\s+([\s\S]*?)(?=^@|(?![\s\S]))/gm)].map(({ index, 1: body }) => {
      const [, code, stated = ''] = /^([\s\S]*?)(?:\s*\/\/ ([^\n]*))?\s*$/.exec(body.trim())!;
      const line = source.slice(0, (comment.index ?? 0) + index).split('\n').length;
      return { file, line, code, stated };
    });
  });
}

/** The value of the last statement. */
async function outcomeOf({ file, code }: Example): Promise<unknown> {
  const { code: script } = transformSync(code, { loader: 'ts', target: 'esnext' });
  const lines = script.trimEnd().split('\n');
  const last = lines.findLastIndex((line) => /^[^\s})\]]/.test(line));
  lines[last] = lines[last].replace(/^/, 'return ');
  const own = (await import(/* @vite-ignore */ join(root, file))) as Record<string, unknown>;
  const names = { ...given(file), ...library, ...own };
  const AsyncFunction = Object.getPrototypeOf(async () => {}).constructor;
  return new AsyncFunction(...Object.keys(names), `{${lines.join('\n')}\n}`)(...Object.values(names));
}

const DUTY = `cooler,fan_duty_percent,fan_rpm,source_C,ambient_C,power_W
${[30, 45, 60, 75, 100].map((duty) => `Rush,${duty},${280 + 15 * duty},50,22,100`).join('\n')}
`;
const files = (texts: Record<string, string>): Map<string, Uint8Array> =>
  new Map(Object.entries(texts).map(([name, text]) => [name, new TextEncoder().encode(text)]));

/** Benches that examples of a folder or file ask; elsewhere it is the demo with two flatness maps. */
const BENCHES: [RegExp, () => Map<string, Uint8Array>][] = [
  [/^months\//, () => readFixture('sessions')],
  [/^(logs\/|response\/load-profile|answers\/simulate)/, () => readFixture('logs')],
  [/^(predict|fit)\/chip/, () => readFixture('chips')],
  [/^fit\/plate/, () => readFixture('liquid')],
  [/^fit\/fan-duties/, () => files({ 'bench.yaml': 'name: duty', 'runs.csv': DUTY })],
  [
    /^compare\/pair-clock/,
    () => {
      const chips = readFixture('chips');
      const yaml = new TextDecoder()
        .decode(chips.get('bench.yaml'))
        .replace(
          '- chip: chip-a',
          '- chip: chip-a\n    clock: {temperature_C: [60, 70, 80], clock_MHz: [5000, 4940, 4900]}',
        );
      return new Map([...chips, ...files({ 'bench.yaml': yaml })]);
    },
  ],
];

/** What examples may name without making it. */
function given(file: string): Record<string, unknown> {
  const own = BENCHES.find(([of]) => of.test(file))?.[1]() ?? readFixture('demo');
  const speeds = [700, 900, 1200, 1500, 1900];
  const law = { a_dBA: -117, b_dB_per_decade: 50, least_rpm: 500, greatest_rpm: 2200 };
  const readings = speeds.map((fan_rpm) => ({
    cooler: 'Heron',
    sample: '1',
    fan_rpm,
    sound_dBA: energySum([law.a_dBA + law.b_dB_per_decade * Math.log10(fan_rpm), 26]),
  }));
  const plate = {
    width_mm: 40,
    depth_mm: 40,
    layers: [{ thickness_mm: 4, k_W_per_mK: 400 }],
    sink: { kind: 'film', h_W_per_m2K: 1e4 },
  };
  const pump = { a_dBA: -127, b_dB_per_decade: 43, least_rpm: 1000, greatest_rpm: 3000 };
  const level = (part: typeof law, rpm: number) => part.a_dBA + part.b_dB_per_decade * Math.log10(rpm);
  const pumpReadings = speeds.flatMap((fan_rpm) =>
    [1200, 1900, 2900].map((pump_rpm) => ({
      fan_rpm,
      pump_rpm,
      sound_dBA: energySum([level(law, fan_rpm), level(pump, pump_rpm), 26]),
    })),
  );
  const bench = library.readBench(own);
  const scanner = library.createLogScanner('run-1.csv');
  scanner.push(own.get('logs/heron-1.csv') ?? new Uint8Array());
  return {
    files: own,
    bench,
    posterior: file.startsWith('sound') ? posteriorFor(bench, 'heater') : undefined,
    bytes: own.get('logs/heron-1.csv') ?? own.get('runs.csv'),
    scanner,
    text: readFileSync(join(root, '../models/sources/heater.yaml'), 'utf8'),
    fan: law,
    pump,
    rise_K: (fan_rpm: number, pump_rpm: number) => 40e3 / fan_rpm + 20e3 / pump_rpm,
    flat: { cooler: 'B', rise_K: 0, rise_low_K: 0, rise_high_K: 0 },
    heater: shippedSource('heater'),
    oneDie: shippedSource('one-die'),
    plate,
    posteriorFor,
    runsPlan,
    options: { numeric: () => false, refuse: (_: number, what: string) => new Error(what) },
    pumpReadings,
    parseFormula,
    logDeterminantOfLine: (at: readonly number[]) => {
      const x = at.map((k) => k / 10 - 1);
      const sum = (power: number): number => x.reduce((total, one) => total + one ** power, 0);
      return Math.log((x.length + 1e-6) * (sum(2) + 1e-6) - sum(1) ** 2);
    },
    state: {
      source: 'heater',
      power_W: 180,
      speed: 'sound',
      fan_percent: 100,
      fan_rpm: 0,
      sound_dBA: 35,
      ambient_C: 22,
    },
    readings,
    law: fitFanSound(new Map([['Heron', readings as never]]), { background_dBA: 26 } as never).laws.get(
      'Heron',
    ),
  };
}

const GAP = Symbol('left out');

/** A number as it is written: with so many digits. */
class Written {
  readonly text: string;
  constructor(text: string) {
    this.text = text;
  }
  isOf(value: unknown): boolean {
    if (typeof value !== 'number') return false;
    const digits = this.text.replace('…', '');
    const [mantissa, exponent = '0'] = digits.split('e');
    const unit = 10 ** (Number(exponent) - (mantissa.split('.')[1]?.length ?? 0));
    const off = value - Number(digits);
    if (this.text.endsWith('…')) return off >= -1e-9 && off < unit;
    return Math.abs(off) <= 0.5 * unit + 1e-14 * Math.abs(value);
  }
}

/** What is stated as a value; `undefined` where it is words. */
function statedValue(stated: string): unknown {
  const script = stated
    .replaceAll('−', '-')
    .split(/('(?:[^'\\]|\\.)*'|"(?:[^"\\]|\\.)*")/)
    .map((part, i) =>
      i % 2 === 1
        ? part
        : part
            .replace(/(?<![\w$.])\d+(?:\.\d+)?(?:e[+-]?\d+)?…?/g, (text) => `new Written('${text}')`)
            .replace(/-new Written\('/g, "new Written('-")
            .replace(/([[{,] *)…/g, '$1...GAP'),
    )
    .join('');
  const parse = (text: string): unknown =>
    new Function('Written', 'GAP', 'Float64Array', `return (${text})`)(
      Written,
      {
        [GAP]: true,
        *[Symbol.iterator]() {
          yield GAP;
        },
      },
      undefined,
    );
  try {
    return parse(script);
  } catch {
    // A number or a text first, and words about it after it.
    const first = /^(?:new Written\('[^']*'\)|'(?:[^'\\]|\\.)*'|\[[^\]]*\])(?=[,; ])/.exec(script)?.[0];
    return first === undefined ? undefined : parse(first);
  }
}

/** Whether a value is the stated one; what is left out of a list stands for any entries. */
function isStated(value: unknown, stated: unknown): boolean {
  if (stated instanceof Written) return stated.isOf(value);
  if (typeof stated === 'string' && stated.includes('…')) {
    const parts = stated.split('…').map((part) => part.replace(/[.*+?^${}()|[\]\\]/g, '\\$&'));
    return (
      typeof value === 'string' &&
      (value === stated || new RegExp(`^${parts.join('[\\s\\S]*')}$`).test(value))
    );
  }
  if (Array.isArray(stated)) {
    const list = ArrayBuffer.isView(value) ? Array.from(value as Float64Array) : value;
    if (!Array.isArray(list)) return false;
    const gap = stated.indexOf(GAP);
    if (gap < 0) return list.length === stated.length && stated.every((one, i) => isStated(list[i], one));
    const after = stated.slice(gap + 1);
    return (
      list.length >= stated.length - 1 &&
      stated.slice(0, gap).every((one, i) => isStated(list[i], one)) &&
      after.every((one, i) => isStated(list[list.length - after.length + i], one))
    );
  }
  if (stated !== null && typeof stated === 'object') {
    if (value === null || typeof value !== 'object') return false;
    const open = GAP in stated;
    const names = Object.keys(stated);
    return (
      (open || names.length === Object.keys(value).length) &&
      names.every((name) => isStated((value as never)[name], (stated as never)[name]))
    );
  }
  return Object.is(value, stated);
}

const sources = (readdirSync(root, { recursive: true }) as string[])
  .filter((file) => /^(?!.*node_modules).*\.(ts|mjs)$/.test(file) && !/\.(test|generated)\.ts$/.test(file))
  .sort();

describe('examples of doc comments', () => {
  afterEach(() => library.registerUnitConverter(undefined));
  const all = sources.flatMap(examplesOf);
  it('are many', () => expect(all.length).toBeGreaterThan(100));

  it.each(all.map((one) => [`${one.file}:${one.line}`, one] as const))('%s', async (_, example) => {
    const value = await outcomeOf(example);
    const stated = statedValue(example.stated);
    if (stated === undefined) expect(value).not.toBeNaN();
    else if (!isStated(value, stated)) expect(value).toEqual(example.stated);
  });
});
