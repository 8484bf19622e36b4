import type { VirtualBenchOptions } from '../../src/lab/bench-options.ts';
import { type CurveStyle, curveCoolers, tinyBesideLarge } from '../../src/lab/curve-coolers.ts';
import { makeRandom } from '../../src/lab/random.ts';

export type Layout = (seed: number) => VirtualBenchOptions;

/** Layouts of benches, from the demo's to a lean one. */
export const LAYOUTS: Record<string, Layout> = {
  plain: (seed) => ({
    seed,
    coolers: 6,
    samples: 2,
    mounts: 2,
    loads_W: [60, 120, 180],
    speeds: [1],
    noise_speeds: [],
    heaterLeak: { value: 0.05, uncertainty: 0.01 },
  }),
  speeds: (seed) => ({
    seed,
    coolers: 8,
    samples: 2,
    mounts: 2,
    loads_W: [80, 140, 200],
    speeds: [0.5, 1],
    noise_speeds: [],
    heaterLeak: { value: 0.05, uncertainty: 0.01 },
    scatter: { mount_K_per_W: 0.008, sample_K_per_W: 0.003, reading_K: 0.15 },
  }),
  lean: (seed) => ({
    seed,
    coolers: 4,
    samples: 1,
    mounts: 2,
    loads_W: [60, 120, 180],
    speeds: [1],
    noise_speeds: [],
    heaterLeak: { value: 0.05, uncertainty: 0.01 },
  }),
  big: (seed) => ({
    seed,
    coolers: 12,
    samples: 2,
    mounts: 2,
    loads_W: [50, 100, 150, 200],
    speeds: [1],
    noise_speeds: [],
    heaterLeak: { value: 0.05, uncertainty: 0.01 },
    scatter: { mount_K_per_W: 0.004, sample_K_per_W: 0.006, reading_K: 0.05 },
  }),
};

/** Every bench laid out differently: scatters, samples, mounts, loads, speeds, leak. */
LAYOUTS.mixed = (seed) => {
  const random = makeRandom(seed).split('layout');
  const between = (low: number, high: number) => Math.exp(random.uniform() * Math.log(high / low)) * low;
  const count = random.integer(3, 5);
  const least = 40 + 40 * random.uniform();
  const greatest = 150 + 80 * random.uniform();
  return {
    seed,
    coolers: random.integer(4, 10),
    samples: random.integer(1, 3),
    mounts: random.integer(2, 3),
    loads_W: Array.from({ length: count }, (_, k) =>
      Math.round(least + ((greatest - least) * k) / (count - 1)),
    ),
    speeds: random.uniform() < 0.4 ? [0.6, 1] : [1],
    noise_speeds: [],
    heaterLeak: random.uniform() < 0.5 ? { value: 0.05, uncertainty: 0.01 } : { value: 0, uncertainty: 0.05 },
    scatter: {
      mount_K_per_W: between(0.002, 0.01),
      sample_K_per_W: between(0.0015, 0.008),
      reading_K: between(0.04, 0.3),
    },
  };
};

/** `plain`, with coolers of the second lab and what else is said. */
function second(style: CurveStyle, also: Partial<VirtualBenchOptions> = {}): Layout {
  return (seed) => ({ ...LAYOUTS.plain(seed), coolers: curveCoolers(6, seed, style), ...also });
}

const threeSpeeds = { speeds: [0.45, 0.7, 1] };

/** Benches of the second lab: six coolers, 2 samples × 2 mounts, 60, 120, 180 W at full speed, unless said otherwise. */
Object.assign(LAYOUTS, {
  'second-plain': second({}),
  /** Fins on a base, no pipes. */
  'second-bare': second({ kinds: ['bare'] }),
  'second-chamber': second({ kinds: ['chamber'] }),
  'second-liquid': second({ kinds: ['liquid'] }),
  /** Pipes a third weaker, as assumed, and 60 % stronger. */
  'second-weak': second({ kinds: ['pipes'], pipeStrength: [0.67, 0.67] }),
  'second-assumed': second({ kinds: ['pipes'], pipeStrength: [1, 1] }),
  'second-strong': second({ kinds: ['pipes'], pipeStrength: [1.6, 1.6] }),
  /** Limits met within the loads run. */
  'second-limit-inside': second({ kinds: ['pipes'], limit_W: [100, 165] }),
  /** Rise at 45 % of speed 1.4 to 2.3 times that at full, and 1.02 to 1.15 times; run at three speeds. */
  'second-steep': second({ atSlow: [1.4, 2.3] }, threeSpeeds),
  'second-flat': second({ atSlow: [1.02, 1.15] }, threeSpeeds),
  'second-stall': second({ stall: 1 }, threeSpeeds),
  /** Mounts with the tails of a t of 3 degrees of freedom. */
  'second-tails': second({}, { scatter: { mount_freedom: 3 } }),
  /** A sensor that wanders by 0.3 K along the runs. */
  'second-drift': second({}, { scatter: { drift_K: 0.3 } }),
  /** Power 2 % off: shared and stated, shared and stated as 0.5 %, each run's own. */
  'second-power': second({}, { instruments: { power_systematic_percent: 2 } }),
  'second-power-unstated': second(
    {},
    { instruments: { power_systematic_percent: 2 }, stated: { power_systematic_percent: 0.5 } },
  ),
  'second-power-own': second({}, { scatter: { power_percent: 2 } }),
  /** A tiny cooler of three pipes beside a large liquid one. */
  'second-tiny': (seed) => ({ ...LAYOUTS.plain(seed), coolers: tinyBesideLarge(6, seed) }),
  /** Two coolers of six run on a chip whose true term is two to four times that of the geometry stated, its spot off the middle. */
  'second-chip': (seed) => ({
    ...LAYOUTS['second-plain'](seed),
    chips: [
      {
        chip: {
          source: 'chip-a',
          width_mm: 16,
          length_mm: 20,
          internal_K_per_W: makeRandom(seed).split('chip').between(0.1, 0.22),
          off_centre: 0.5,
        },
        geometry: 'one-die',
        coolers: ['curve-1', 'curve-2'],
        loads_W: [70, 140],
      },
    ],
  }),
  /** Three sessions tied by a reference cooler that was fitted badly in the second. */
  'second-reference': (seed) => ({
    ...LAYOUTS['second-plain'](seed),
    mounts: 3,
    sessions: ['a', 'b', 'c'],
    reference_cooler: 'curve-1',
    scatter: { session_K_per_W: 0.003 },
    faults: [{ cooler: 'curve-1', mount: 'ref-b', interface_K_per_W: 0.04 }],
  }),
} satisfies Record<string, Layout>);

/** @throws RangeError for a layout or lab that does not exist */
export function layoutOf(name: string, lab = 'first'): Layout {
  const make = LAYOUTS[name];
  if (!make) throw new RangeError(`layout ${name}; known are ${Object.keys(LAYOUTS).join(', ')}`);
  if (lab !== 'first' && lab !== 'second') throw new RangeError(`lab ${lab}; known are first and second`);
  if (lab === 'first') return make;
  return (seed) => {
    const options = make(seed);
    const { coolers } = options;
    return typeof coolers === 'number' ? { ...options, coolers: curveCoolers(coolers, seed) } : options;
  };
}
