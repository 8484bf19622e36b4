import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { compare } from '../../src/answers/compare.ts';
import { fit as fitBench } from '../../src/answers/fit.ts';
import { predict } from '../../src/answers/predict.ts';
import type { Bench } from '../../src/bench/bench.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { pairwiseCritical } from '../../src/compare/critical-value.ts';
import { letterDisplay } from '../../src/compare/letter-display.ts';
import { modelWeights } from '../../src/fit/model-weights.ts';
import { reduce } from '../../src/logs/reduce.ts';
import { satterthwaite } from '../../src/numerics/degrees-of-freedom.ts';
import { fitFanSound, soundAtSpeed } from '../../src/sound/fan-sound.ts';
import { speedAtLevel } from '../../src/sound/speed-at-level.ts';
import { realRows } from '../benchmarks/real-study.ts';

/**
 * What the commands answer, against numbers that this project's code did not make. Those of the balanced bench, of the step and of the sessions
 * are printed by test/published/scripts/live-checks.py (numpy, scipy); test/benchmarks/mutants.mjs shows that they fail where the code is wrong.
 */
function benchOf(files: Record<string, string>): Bench {
  const encoder = new TextEncoder();
  return readBench(new Map(Object.entries(files).map(([name, text]) => [name, encoder.encode(text)])));
}

/** No error is shared and nothing leaks, so that the textbook's model is the whole of it. */
const EXACT = `name: Balanced
heater: {leak_W_per_K: {value: 0, uncertainty: 0}}
instruments:
  source_temperature: {systematic_K: 0, resolution_K: 0.01}
  ambient_temperature: {systematic_K: 0, resolution_K: 0.01}
  power: {systematic_percent: 0}
`;

describe('a balanced bench of 24 coolers without pipes, 2 samples × 3 mounts, 60, 120, 180 W', () => {
  const runs = readFileSync(join(process.cwd(), 'test/fixtures/balanced/runs.csv'), 'utf8');
  const names = Array.from({ length: 24 }, (_, k) => `C${String(k + 1).padStart(2, '0')},0`);
  const bench = benchOf({
    'bench.yaml': EXACT,
    'runs.csv': runs,
    'coolers.csv': ['cooler,heat_pipes', ...names].join('\n'),
  });

  it('fit: scatters by nested analysis of variance', () => {
    const { scatter } = fitBench(bench);
    expect(scatter.mount_K_per_W.value / 0.0063042).toBeCloseTo(1, 1);
    expect(scatter.reading_K.value / 0.10199).toBeCloseTo(1, 1);
    expect(scatter.sample_K_per_W.low).toBeLessThan(0.00295);
    expect(scatter.sample_K_per_W.high).toBeGreaterThan(0.00295);
  });

  it('predict: the rise at 90 and 150 W, which were not run', () => {
    const { predictions } = predict(bench, { power_W: [90, 150], coolers: ['C01'] });
    expect(predictions[0].rise_K / 13.462857).toBeCloseTo(1, 2);
    expect(predictions[1].rise_K / 22.438095).toBeCloseTo(1, 2);
    // Analysis of variance has no paste between sessions, of which one session shows nothing; 0.003 K/W are assumed where it counts.
    const half = (predictions[0].mean_high_K - predictions[0].mean_low_K) / 2;
    expect(half).toBeGreaterThan(0.95 * 0.6166336);
    expect(half).toBeLessThan(1.05 * Math.hypot(0.6166336, 1.98 * 0.003 * 90));
  });

  it('compare: the difference of two coolers and its width over all pairs', () => {
    const { pairs } = compare(bench, { power_W: [90] });
    const [{ difference }] = pairs.filter(({ a, b }) => a === 'C01' && b === 'C02');
    expect(Math.abs(difference[0].rise_K + 0.42054)).toBeLessThan(0.02);
    const half = (difference[0].high_K - difference[0].low_K) / 2;
    expect(Math.abs(half / 1.7220631 - 1)).toBeLessThan(0.04);
  });
});

describe('Satterthwaite', () => {
  // JCGM 100:2008 (GUM), G.4.1, example: u_c(y)/y = 1.03 %, from 0.25 % with 9, 0.57 % with 4 and 0.82 % with 14 degrees of freedom: 19.0.
  it('has 19.0 effective degrees of freedom in the GUM’s example', () => {
    const parts = [
      [0.25, 9],
      [0.57, 4],
      [0.82, 14],
    ];
    const slopes = Float64Array.from(parts, ([u]) => u * u);
    // The variance of log s² with ν degrees of freedom is 2/ν.
    const covariance = Float64Array.from({ length: 9 }, (_, k) => (k % 4 === 0 ? 2 / parts[k / 4][1] : 0));
    expect(
      satterthwaite(
        slopes.reduce((a, b) => a + b),
        slopes,
        covariance,
      ),
    ).toBeCloseTo(19.0, 1);
  });
});

describe('all pairs and letters', () => {
  // Dried weight of plants under two treatments and a control: PlantGrowth of R's datasets (Dobson 1983, An Introduction to Statistical
  // Modelling, table 2.1); TukeyHSD of R: trt1 − ctrl −0.371 (−1.062 to 0.320), trt2 − ctrl 0.494 (−0.197 to 1.185), trt2 − trt1 0.865
  // (0.174 to 1.556). Data and limits from memory, the limits made again by scipy 1.17 tukey_hsd.
  const groups = {
    trt2: [6.31, 5.12, 5.54, 5.5, 5.37, 5.29, 4.92, 6.15, 5.8, 5.26],
    ctrl: [4.17, 5.58, 5.18, 6.11, 4.5, 4.61, 5.17, 4.53, 5.33, 5.14],
    trt1: [4.81, 4.17, 4.41, 3.59, 5.87, 3.83, 6.03, 4.89, 4.32, 4.69],
  };
  const values = Object.values(groups);
  const means = values.map((list) => list.reduce((a, b) => a + b) / list.length);
  const within =
    values.flatMap((list, k) => list.map((v) => (v - means[k]) ** 2)).reduce((a, b) => a + b) / 27;
  const half = pairwiseCritical(3, 0.95)(27) * Math.sqrt((2 * within) / 10);

  it('has the limits of Tukey and Kramer', () => {
    expect(half).toBeCloseTo(0.6912, 3);
  });
  it('gives the best treatment a, the control ab, the other b', () => {
    expect(letterDisplay(3, (i, j) => Math.abs(means[i] - means[j]) > half)).toEqual([
      ['a'],
      ['a', 'b'],
      ['b'],
    ]);
  });
});

describe('what coolers have in common', () => {
  // Nine coolers of R = 0.03 + 0.15·n^−0.95 K/W at three speeds, a tenth that is their like at full speed and was run there alone: at half of the
  // speed it is theirs, 0.03 + 0.15·2^0.95 = 0.3198 K/W (arithmetic).
  it('pooling: a cooler run at full speed alone gets the others’ law', () => {
    const rows = ['cooler,mount,power_W,fan_rpm,source_C,ambient_C'];
    for (let k = 1; k <= 10; k++)
      for (let mount = 1; mount <= 2; mount++)
        for (const power of [60, 120, 180])
          for (const n of k === 10 ? [1] : [0.4, 0.7, 1]) {
            const R = 0.03 + 0.15 * n ** -0.95 + 0.0005 * (mount - 1.5);
            rows.push(`P${k},${mount},${power},${2000 * n},${(22 + power * R).toFixed(2)},22`);
          }
    const names = Array.from({ length: 10 }, (_, k) => `P${k + 1},0,2000`);
    const bench = benchOf({
      'bench.yaml': EXACT,
      'runs.csv': rows.join('\n'),
      'coolers.csv': ['cooler,heat_pipes,fan_max_rpm', ...names].join('\n'),
    });
    const [p] = predict(bench, { power_W: [120], coolers: ['P10'], fan_rpm: 1000 }).predictions;
    expect(Math.abs(p.rise_K / (120 * 0.3198) - 1)).toBeLessThan(0.05);
  });

  it('weights of formulas: shares over the bench by direct maximisation', () => {
    const weights = modelWeights([
      [0, -1],
      [0, -2],
      [0, 0.5],
      [0, -3],
      [0, 1.2],
    ]);
    const scipy = [0.84682884, 0.93761079, 0.55229373, 0.97610597, 0.37988005];
    scipy.forEach((weight, c) => {
      expect(Math.abs(weights[c][0] - weight)).toBeLessThan(1e-4);
    });
  });
});

describe('reduce', () => {
  // scipy curve_fit of two exponentials to the whole step of a real heater (test/fixtures/real/heater_steps_1Hz.csv, run A): 42.527 K.
  it('finds what a real heater’s step tends to', () => {
    const own = realRows('heater_steps_1Hz.csv').filter(({ run }) => run.startsWith('A '));
    const start = own[0].T1_C;
    const log = [
      'time_s,source_C,ambient_C,power_W,fan_rpm',
      `-1,${start},${start},0,0`,
      ...own.map(({ t_s, T1_C }) => `${t_s},${T1_C},${start},10,0`),
    ];
    const bench = benchOf({
      'bench.yaml': 'name: Step\n',
      'logs.csv': 'run,cooler,sample,mount,source,log\nr1,sink,1,1,heater,a.csv\n',
      'logs/a.csv': log.join('\n'),
    });
    const [run] = reduce(bench).runs;
    expect(Math.abs((run.rise_K ?? 0) / 42.527 - 1)).toBeLessThan(0.02);
  });
});

describe('sessions', () => {
  // Four coolers fitted four times in each of two sessions, 2.5 K apart at every load; X in the first alone, Y in the second alone. With the
  // offset taken off, Y − X is −1.5 K at the middle load (arithmetic; least squares gives the same).
  it('take the offset of a session off a cooler that was run in it alone', () => {
    const rows = ['cooler,mount,session,power_W,fan_rpm,source_C,ambient_C'];
    const add = (cooler: string, session: string, R: number, offset: number) => {
      for (let mount = 1; mount <= 4; mount++)
        for (const power of [60, 90, 120]) {
          const wobble = 0.001 * (mount - 2.5) * power;
          rows.push(
            `${cooler},${session}${mount},${session},${power},1500,${(22 + power * R + offset + wobble).toFixed(2)},22`,
          );
        }
    };
    for (let k = 1; k <= 4; k++) {
      add(`T${k}`, 'one', 0.2 + 0.02 * k, 0);
      add(`T${k}`, 'two', 0.2 + 0.02 * k, 2.5);
    }
    add('X', 'one', 30 / 90, 0);
    add('Y', 'two', 28.5 / 90, 2.5);
    const names = ['T1', 'T2', 'T3', 'T4', 'X', 'Y'].map((name) => `${name},0`);
    const bench = benchOf({
      'bench.yaml':
        'name: Two sessions\nheater: {leak_W_per_K: {value: 0, uncertainty: 0}}\nsessions: [{session: one}, {session: two}]\n',
      'runs.csv': rows.join('\n'),
      'coolers.csv': ['cooler,heat_pipes', ...names].join('\n'),
    });
    const [{ a, difference }] = compare(bench, { power_W: [90], coolers: ['X', 'Y'] }).pairs;
    const yLessX = a === 'Y' ? difference[0].rise_K : -difference[0].rise_K;
    expect(Math.abs(yLessX + 1.5)).toBeLessThan(0.125);
  });
});

describe('a chip', () => {
  // Six coolers on the heater and on a chip that has 0.1 K/W more, a seventh on the heater alone: on the chip it is 10 K hotter at 100 W.
  it('adds its term to a cooler that was never run on it', () => {
    const rows = ['cooler,mount,source,power_W,fan_rpm,source_C,ambient_C'];
    const add = (cooler: string, source: string, R: number) => {
      for (let mount = 1; mount <= 2; mount++)
        for (const power of [50, 100, 150]) {
          const wobble = 0.0005 * (mount - 1.5) * power;
          rows.push(
            `${cooler},${source}${mount},${source},${power},1500,${(22 + power * R + wobble).toFixed(2)},22`,
          );
        }
    };
    for (let k = 1; k <= 7; k++) add(`K${k}`, 'heater', 0.2 + 0.01 * k);
    for (let k = 1; k <= 6; k++) add(`K${k}`, 'chip', 0.3 + 0.01 * k);
    const bench = benchOf({
      'bench.yaml': `${EXACT}chips: [{chip: chip, sensor_systematic_K: 0, power_systematic_percent: 0, leak_W_per_K: {value: 0, uncertainty: 0}}]\n`,
      'runs.csv': rows.join('\n'),
      'coolers.csv': ['cooler,heat_pipes', ...Array.from({ length: 7 }, (_, k) => `K${k + 1},0`)].join('\n'),
    });
    const [p] = predict(bench, { power_W: [100], coolers: ['K7'], source: 'chip' }).predictions;
    expect(Math.abs(p.rise_K - 37)).toBeLessThan(0.5);
  });
});

describe('sound', () => {
  // Own level −117 + 50·lg n, background 26 dBA: 35 dBA are metered where the own level is 10·lg(10^3.5 − 10^2.6) = 34.416, at
  // n = 10^(151.416/50) = 1067.4 rpm (arithmetic).
  it('finds the speed at a level, and the level at a speed', () => {
    const own = (n: number) => -117 + 50 * Math.log10(n);
    const metered = (n: number) => 10 * Math.log10(10 ** (own(n) / 10) + 10 ** 2.6);
    const readings = [700, 900, 1200, 1500, 1900].map((fan_rpm) => ({
      fan_rpm,
      sound_dBA: metered(fan_rpm),
      sample: '1',
      file: 'noise.csv' as const,
      line: 2,
    }));
    const { laws } = fitFanSound(new Map([['K', readings]]), { background_dBA: 26 });
    const law = laws.get('K')!;
    expect(Math.abs(speedAtLevel(law, 35).fan_rpm / 1067.4 - 1)).toBeLessThan(0.01);
    expect(Math.abs((soundAtSpeed(law, 1067.4).metered_dBA ?? 0) - 35)).toBeLessThan(0.1);
  });
});
