import { describe, expect, it } from 'vitest';
import { compare } from '../answers/compare.ts';
import type { Bench, Run } from '../bench/bench.ts';
import { readBench } from '../bench/read-bench.ts';
import { SESSION } from '../fit/components.ts';
import { posteriorOf } from '../fit/posterior-of.ts';
import { makeRandom } from '../lab/random.ts';
import { bridgeOver, bridgeSteps, shiftAt, unbridgedPairs } from './method-bridge.ts';
import { onOneMethod } from './one-method.ts';

const scatter = { sample_K_per_W: 0.004, mount_K_per_W: 0.005, reading_K: 0.1 };
const OFFSET_K = 0.8;
const RATIO = 1.06;

interface Fitting {
  cooler: string;
  K_per_W: number;
  methods: readonly string[];
}

/** Each cooler fitted twice under each of its methods at three loads; `boxed` reads 0.8 K + 1.06 times `open`. */
function bench(seed: number, fittings: readonly Fitting[], loads = [60, 120, 180], yaml = ''): Bench {
  const random = makeRandom(seed);
  const rows = ['cooler,mount,method,power_W,fan_rpm,source_C,ambient_C'];
  for (const { cooler, K_per_W, methods } of fittings) {
    for (const method of methods) {
      for (let m = 1; m <= 2; m++) {
        const mount = random.normal(0, scatter.mount_K_per_W);
        for (const load of loads) {
          const open = load * (K_per_W + mount);
          const rise = (method === 'boxed' ? OFFSET_K + RATIO * open : open) + random.normal(0, 0.1);
          rows.push(`${cooler},${method}-${m},${method},${load},1000,${(22 + rise).toFixed(3)},22`);
        }
      }
    }
  }
  const bytes = (text: string) => new TextEncoder().encode(text);
  return readBench(
    new Map([
      ['bench.yaml', bytes(`name: attic\n${yaml}`)],
      ['runs.csv', bytes(`${rows.join('\n')}\n`)],
    ]),
  );
}

const BRIDGED: Fitting[] = [
  { cooler: 'Alder', K_per_W: 0.2, methods: ['open'] },
  { cooler: 'Rush', K_per_W: 0.17, methods: ['open', 'boxed'] },
  { cooler: 'Sedge', K_per_W: 0.25, methods: ['open', 'boxed'] },
  { cooler: 'Teasel', K_per_W: 0.21, methods: ['boxed'] },
];
const APART: Fitting[] = BRIDGED.map((one) => ({ ...one, methods: one.methods.slice(0, 1) }));

describe('a bridge between test methods', () => {
  it('holds the true change as often as it says', () => {
    let held = 0;
    let count = 0;
    for (let seed = 1; seed <= 150; seed++) {
      const bridge = bridgeOver(bridgeSteps(bench(seed, BRIDGED), 'open', 'boxed', scatter));
      for (const rise of [15, 40]) {
        const { shift_K, u_K } = shiftAt(bridge as NonNullable<typeof bridge>, rise);
        count++;
        if (Math.abs(shift_K - (OFFSET_K + (RATIO - 1) * rise)) <= 1.96 * u_K) held++;
      }
    }
    // 95 % less three standard errors of a share in 150 independent benches.
    expect(held / count).toBeGreaterThan(0.95 - 3 * Math.sqrt((0.95 * 0.05) / 150));
    expect(held / count).toBeLessThan(1);
  });

  it('names what it stands on', () => {
    const bridge = bridgeOver(bridgeSteps(bench(1, BRIDGED), 'open', 'boxed', scatter));
    expect(bridge).toMatchObject({ coolers: ['Rush', 'Sedge'], conditions: 6, via: [] });
    expect(bridge?.verdict).toMatch(
      /^A cooler with a rise of 30 K under method open has \d\.\d K more under method boxed, with a standard uncertainty of \d\.\d K; from Rush, Sedge, run under both\.$/,
    );
  });

  it('goes by way of a third method, less sure than either step', () => {
    const chain = bench(4, [
      { cooler: 'Rush', K_per_W: 0.17, methods: ['open', 'hung'] },
      { cooler: 'Sedge', K_per_W: 0.25, methods: ['hung', 'boxed'] },
    ]);
    const far = bridgeOver(bridgeSteps(chain, 'open', 'boxed', scatter));
    const near = bridgeOver(bridgeSteps(chain, 'hung', 'boxed', scatter));
    expect(far?.via).toEqual(['hung']);
    expect(far?.shifts[1].u_K).toBeGreaterThan(near?.shifts[1].u_K as number);
    expect(unbridgedPairs(chain)).toEqual([]);
  });

  it('carries runs over to the present method', () => {
    const { bench: carried, method, warnings } = onOneMethod(bench(2, BRIDGED));
    expect(method).toBe('boxed');
    const rise = carried.runs
      .filter((run) => run.cooler === 'Alder' && run.power_W === 180)
      .map((run) => run.source_C - run.ambient_C);
    const mean = rise.reduce((a, b) => a + b, 0) / rise.length;
    // 36 K under open are 39.0 K under boxed; two fittings of 0.9 K each and the bridge's own uncertainty.
    expect(Math.abs(mean - (OFFSET_K + RATIO * 36))).toBeLessThan(3);
    expect(warnings[0]).toContain('carried over to method boxed');
  });
});

describe('what a bridge leaves open', () => {
  /** Standard uncertainty of the difference of two sessions' readings at a load, from the fit of the carried bench. */
  function apart_K(carried: Bench, source: string, load: number, names?: readonly [string, string]): number {
    const { sessions, sessionEffects } = posteriorOf(carried, source);
    const { root } = sessionEffects as NonNullable<typeof sessionEffects>;
    const size = Math.sqrt(root.length);
    const half = size / 2;
    const of = (name: string) =>
      sessions.findIndex((session) => (name === '' ? !session?.includes('under') : session?.endsWith(name)));
    const over = names ? of(names[0]) : sessions.findIndex((session) => session?.includes('under'));
    const present = names ? of(names[1]) : sessions.findIndex((session) => !session?.includes('under'));
    let variance = 0;
    for (let z = 0; z < size; z++) {
      const at = (k: number) => root[k * size + z] + load * root[(half + k) * size + z];
      variance += (at(over) - at(present)) ** 2;
    }
    return Math.sqrt(variance);
  }

  /** Sensors that are known well and no scatter between sessions: what is left between the two is the bridge. */
  const exact =
    'instruments: {source_temperature: {systematic_K: 0.001}, ambient_temperature: {systematic_K: 0.001}}\n';

  it('is between all runs on its two sides', () => {
    for (const seed of [1, 2, 3]) {
      const read = bench(seed, BRIDGED, undefined, exact);
      const { bench: carried, bridges } = onOneMethod(read);
      const left = apart_K(carried, 'heater', 150);
      // The same runs by another way: errors in both variables. Scatters are estimated with the sessions here, without there.
      const { u_K } = shiftAt(bridges[0], 150 * 0.21);
      expect(left / u_K).toBeGreaterThan(0.6);
      expect(left / u_K).toBeLessThan(1.8);
    }
  });

  it('holds on a source where no cooler was run on both sides, as the bridge has it', () => {
    const read = bench(1, BRIDGED, undefined, `${exact}chips: [{chip: Merle, sensor_systematic_K: 0.001}]\n`);
    const onChip = read.runs
      .filter(({ cooler }) => cooler === 'Alder' || cooler === 'Teasel')
      .map((run) => ({ ...run, source: 'Merle' }));
    const { bench: carried, bridges } = onOneMethod({ ...read, runs: [...read.runs, ...onChip] });
    const { u_K } = shiftAt(bridges[0], 150 * 0.21);
    const paste_K = 150 * posteriorOf(carried, 'Merle').scatter.sigma[SESSION];
    const expected = Math.hypot(u_K, Math.SQRT2 * paste_K);
    expect(apart_K(carried, 'Merle', 150) / expected).toBeGreaterThan(0.9);
    expect(apart_K(carried, 'Merle', 150) / expected).toBeLessThan(1.1);
  });

  /** The bench with some of its runs on a chip too. */
  function withChip(read: Bench, isOnChip: (run: Run) => boolean): Bench {
    const onChip = read.runs.filter(isOnChip).map((run) => ({ ...run, source: 'Merle' }));
    return { ...read, runs: [...read.runs, ...onChip] };
  }

  it('of the steps of a chain is common to all that go the same way', () => {
    const chip = `${exact}chips: [{chip: Merle, sensor_systematic_K: 0.001}]\n`;
    const read = bench(
      3,
      [
        { cooler: 'Alder', K_per_W: 0.2, methods: ['open'] },
        { cooler: 'Rush', K_per_W: 0.17, methods: ['open', 'hung'] },
        { cooler: 'Reed', K_per_W: 0.23, methods: ['open', 'hung'] },
        { cooler: 'Osier', K_per_W: 0.19, methods: ['open', 'hung'] },
        { cooler: 'Elder', K_per_W: 0.22, methods: ['hung'] },
        { cooler: 'Sedge', K_per_W: 0.25, methods: ['hung', 'boxed'] },
        { cooler: 'Teasel', K_per_W: 0.21, methods: ['boxed'] },
      ],
      undefined,
      chip,
    );
    read.runs.sort((a, b) => Number(a.method === 'boxed') - Number(b.method === 'boxed'));
    const { bench: carried } = onOneMethod(
      withChip(read, ({ cooler }) => ['Alder', 'Elder', 'Teasel'].includes(cooler)),
    );
    const paste_K = Math.SQRT2 * 150 * posteriorOf(carried, 'Merle').scatter.sigma[SESSION];
    // Of a middling cooler among those carried over.
    const rise_K = 150 * 0.2;
    // Between the two ends both steps are open, between neighbours the one that joins them.
    for (const [from, to, named] of [
      ['open', 'hung', 'under method hung'],
      ['open', 'boxed', ''],
      ['hung', 'boxed', ''],
    ]) {
      const bridge = bridgeOver(bridgeSteps(read, from, to)) as NonNullable<ReturnType<typeof bridgeOver>>;
      const expected = Math.hypot(shiftAt(bridge, rise_K).u_K, paste_K);
      const left = apart_K(carried, 'Merle', 150, [`under method ${from}`, named]);
      expect(left / expected).toBeGreaterThan(0.9);
      expect(left / expected).toBeLessThan(1.1);
    }
  });

  it('stays known from one source on another where a cooler was run on both sides, but at no condition in common', () => {
    const yaml = `${exact}chips: [{chip: Merle, sensor_systematic_K: 0.001}]\n`;
    const read = bench(2, BRIDGED, undefined, yaml);
    const { bench: carried, bridges } = onOneMethod(
      withChip(read, ({ cooler, method, power_W }) =>
        cooler === 'Rush'
          ? power_W === (method === 'open' ? 60 : 180)
          : cooler === 'Alder' || cooler === 'Teasel',
      ),
    );
    const { u_K } = shiftAt(bridges[0], 150 * 0.21);
    const paste_K = 150 * posteriorOf(carried, 'Merle').scatter.sigma[SESSION];
    expect(apart_K(carried, 'Merle', 150)).toBeLessThan(1.1 * Math.hypot(u_K, Math.SQRT2 * paste_K));
  });
});

describe('methods that nothing joins', () => {
  it('names the run that would join them', () => {
    const [pair] = unbridgedPairs(bench(1, APART, [60, 120, 180], 'reference_cooler: Sedge'));
    expect(pair.methods).toEqual(['open', 'boxed']);
    expect(pair.coolers).toEqual([['Alder', 'Rush', 'Sedge'], ['Teasel']]);
    expect(pair.run).toEqual({
      cooler: 'Sedge',
      source: 'heater',
      method: 'boxed',
      power_W: [60, 180],
      fan_rpm: 1000,
    });
  });

  it('are not ranked, unless within one of them', () => {
    const apart = bench(1, APART, [80, 160]);
    expect(() => compare(apart, { power_W: [100] })).toThrow(
      /^runs\.csv:1:1: Alder and Teasel cannot be ranked: no cooler was run under both method open and method boxed at one condition: run \w+ under method \w+ at 80 and 160 W and 1000 rpm, or compare within one method: --cooler Alder,Rush,Sedge$/,
    );
    const within = compare(apart, { power_W: [100], coolers: ['Alder', 'Rush'] });
    expect(within.pairs).toHaveLength(1);
  });
});
