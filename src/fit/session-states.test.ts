import { describe, expect, it } from 'vitest';
import { readBench } from '../bench/read-bench.ts';
import { shippedModels } from '../formula/shipped-models.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import { benchPosterior } from './bench-posterior.ts';
import { MOUNT, SESSION } from './components.ts';

describe('the scatter between sessions', () => {
  it('is told from that of mounts by what all coolers of a session have in common, with one mount of each in each', () => {
    const mount_K_per_W = 0.004;
    let mounts = 0;
    let sessions = 0;
    let drawn = 0;
    const benches = 4;
    for (let seed = 1; seed <= benches; seed++) {
      const { files, truth } = makeVirtualBench({
        seed,
        coolers: 6,
        mounts: 4,
        sessions: ['a', 'b', 'c', 'd'],
        noise_speeds: [],
        scatter: { session_K_per_W: 0.012, mount_K_per_W },
      });
      const { sigma } = benchPosterior(readBench(files), shippedModels).scatter;
      mounts += sigma[MOUNT] ** 2 / benches;
      sessions += sigma[SESSION] ** 2 / benches;
      const pastes = truth.sessions.map((session) => session.paste_K_per_W);
      const mean = pastes.reduce((a, b) => a + b, 0) / pastes.length;
      drawn += pastes.reduce((sum, paste) => sum + (paste - mean) ** 2, 0) / (pastes.length - 1) / benches;
    }
    // Four sessions leave three degrees of freedom, which the assumption holds towards 0.003 K/W.
    expect(Math.sqrt(sessions / drawn)).toBeGreaterThan(0.5);
    expect(Math.sqrt(sessions / drawn)).toBeLessThan(1.2);
    expect(Math.sqrt(mounts) / mount_K_per_W).toBeGreaterThan(0.8);
    expect(Math.sqrt(mounts) / mount_K_per_W).toBeLessThan(1.25);
  });

  it('is known from two sessions no better than two can tell, however many coolers were run in both', () => {
    const { files } = makeVirtualBench({
      seed: 2,
      coolers: 12,
      mounts: 4,
      sessions: ['a', 'b'],
      noise_speeds: [],
      scatter: { session_K_per_W: 0.01, mount_K_per_W: 0.002 },
    });
    const { logVarianceCovariance, sigma } = benchPosterior(readBench(files), shippedModels).scatter;
    // One degree of freedom has an information of a half on log σ²; the assumption brings 1/(4·0.6²).
    const least = 1 / (0.5 + 1 / (4 * 0.6 ** 2));
    expect(logVarianceCovariance[SESSION * sigma.length + SESSION]).toBeGreaterThan(0.95 * least);
  });
});

describe('sessions that differences rest on', () => {
  const names = ['spring', 'summer', 'autumn'];
  const made = (interface_K_per_W: number, isTied = true) => {
    const { files } = makeVirtualBench({
      seed: 5,
      coolers: 5,
      mounts: 9,
      sessions: names,
      noise_speeds: [],
      faults: [{ cooler: 'cooler-1', mount: '2', interface_K_per_W }],
    });
    const bench = readBench(files);
    const home = (cooler: string) => names[bench.coolers.findIndex((one) => one.cooler === cooler) % 3];
    const runs = bench.runs.filter(({ cooler, mount, session }) =>
      isTied && cooler === 'cooler-1' ? Number(mount) <= 3 : session === home(cooler),
    );
    return benchPosterior({ ...bench, runs }, shippedModels);
  };

  it('take no more than a part of what one bad fitting of the cooler that ties them shows, and are told', () => {
    const { sessionEffects, warnings } = made(0.05);
    const { paste_K_per_W, root } = sessionEffects!;
    const [spring, summer, autumn] = paste_K_per_W;
    const shift = summer - (spring + autumn) / 2;
    expect(shift).toBeLessThan(0.04);
    // Whether the session or the fitting is off stays open: both lie within two standard deviations.
    const spread = Math.hypot(...root.subarray(4 * 6, 5 * 6));
    expect(shift - 2 * spread).toBeLessThan(0);
    expect(shift + 2 * spread).toBeGreaterThan(0.05);
    expect(warnings.join('\n')).toMatch(/session summer lies 0\.0\d\d K\/W above the others/);
  });

  it('are not told where nothing is wrong, and are where no cooler ties them', () => {
    expect(made(0).warnings).toEqual([]);
    expect(made(0, false).warnings.join('\n')).toMatch(
      /no cooler ties these sessions to each other: spring \| summer \| autumn/,
    );
  });
});

describe('sessions on a chip', () => {
  it('have the sensor on the die in common, so that only their ambient thermometers lie between them', () => {
    const { files } = makeVirtualBench({
      seed: 4,
      coolers: 4,
      mounts: 2,
      sessions: ['a', 'b'],
      noise_speeds: [],
    });
    const read = readBench(files);
    const chip = {
      chip: 'Merle',
      sensor_systematic_K: 2,
      power_systematic_percent: 3,
      leak_W_per_K: { value: 0, uncertainty: 0.05 },
    };
    const names = read.coolers.map(({ cooler }) => cooler);
    // Half of the coolers in each session: nothing but the instruments ties them.
    const runs = read.runs
      .filter((run) => (run.session === 'a') === names.indexOf(run.cooler) < 2)
      .map((run) => ({ ...run, source: 'Merle' }));
    const bench = { ...read, chips: [{ ...read.chips[0], ...chip }], runs };
    const { sessionEffects } = benchPosterior(bench, shippedModels, 'Merle');
    const root = sessionEffects?.root as Float64Array;
    let apart = 0;
    let own = 0;
    for (let z = 0; z < 4; z++) {
      apart += (root[z] - root[4 + z]) ** 2;
      own += root[z] ** 2;
    }
    const ambient = read.instruments.ambient_temperature.systematic_K;
    expect(Math.sqrt(apart)).toBeCloseTo(Math.SQRT2 * ambient, 6);
    expect(Math.sqrt(own)).toBeCloseTo(Math.hypot(2, ambient), 6);
  });
});
