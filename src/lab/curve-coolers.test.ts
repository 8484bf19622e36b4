import { describe, expect, it } from 'vitest';
import { CurveCooler } from './curve-cooler.ts';
import { curveCoolers, tinyBesideLarge } from './curve-coolers.ts';
import { labData } from './lab-data.generated.ts';
import { monotoneSpline } from './monotone-spline.ts';
import { makeVirtualBench } from './virtual-bench.ts';

const sd = (values: readonly number[]) => {
  const mean = values.reduce((a, b) => a + b, 0) / values.length;
  return Math.sqrt(values.reduce((a, v) => a + (v - mean) ** 2, 0) / (values.length - 1));
};

it('a monotone spline is that of scipy between the outermost points', () => {
  // scipy 1.17 PchipInterpolator([0, 1, 3, 4, 7, 8], [0, 2, 2.5, 4, 4, 9]), between the second point and the next to last.
  const spline = monotoneSpline([0, 1, 3, 4, 7, 8], [0, 2, 2.5, 4, 4, 9]);
  const scipy = [2.171307082945014, 2.255242311276794, 3.3081896551724137, 4, 4];
  [1.5, 2, 3.5, 5, 6].forEach((x, k) => {
    expect(spline(x)).toBeCloseTo(scipy[k], 12);
  });
  expect(monotoneSpline([0, 1, 3], [0, 2, 2])(0.5)).toBeCloseTo(1.25, 12);
});

describe('coolers of the second lab', () => {
  it('rise as their curves say, what leaks taken off', () => {
    const [spec] = curveCoolers(1, 5, { kinds: ['pipes'], limit_W: [150, 150] });
    const cooler = new CurveCooler(spec, labData.heater);
    const at = { power_W: 120, fan_rpm: spec.fan.max_rpm };
    const through = cooler.rise(at);
    const leaky = cooler.rise({ ...at, power_W: 120 + 0.1 * through, leak_W_per_K: 0.1 });
    expect(leaky).toBeCloseTo(through, 6);
    const beyond = cooler.rise({ ...at, power_W: 200 }) - cooler.rise({ ...at, power_W: 190 });
    const before = cooler.rise({ ...at, power_W: 148 }) - cooler.rise({ ...at, power_W: 138 });
    expect(beyond - before).toBeGreaterThan(8 * (spec.dry?.slope_K_per_W ?? 0));
  });

  it('rise with load and fall with speed, and a steep one rises at 45 % as asked', () => {
    for (const spec of curveCoolers(60, 8, { atSlow: [1.4, 2.3], stall: 0.5, pipeStrength: [9, 9] })) {
      const cooler = new CurveCooler({ ...spec, dry: undefined }, labData.heater);
      const rise = (power_W: number, speed: number) =>
        cooler.rise({ power_W, fan_rpm: speed * spec.fan.max_rpm });
      let last = 0;
      for (let P = 5; P <= 500; P += 5) {
        expect(rise(P, 1)).toBeGreaterThan(last);
        last = rise(P, 1);
      }
      last = 0;
      for (let n = 1; n > 0.15; n -= 0.01) {
        expect(rise(120, n)).toBeGreaterThan(last);
        last = rise(120, n);
      }
      const ratio = rise(120, 0.45) / rise(120, 1);
      expect(ratio).toBeGreaterThan(1.3);
      expect(ratio).toBeLessThan(2.45);
    }
  });

  it('keep their draws when one is added; the tiny one has three pipes', () => {
    expect(curveCoolers(3, 1)).toEqual(curveCoolers(5, 1).slice(0, 3));
    const [tiny, large] = tinyBesideLarge(4, 3);
    expect([tiny.pipes?.count, large.kind]).toEqual([3, 'liquid']);
  });

  it('feel a spot off the middle each in its own measure', () => {
    const chip = { ...labData.chips[0], off_centre: 1 };
    const extra = curveCoolers(8, 2).map((spec) => {
      const at = { power_W: 100, fan_rpm: spec.fan.max_rpm };
      return new CurveCooler(spec, chip).rise(at) - new CurveCooler(spec, labData.chips[0]).rise(at);
    });
    expect(Math.min(...extra)).toBeGreaterThanOrEqual(0);
    expect(sd(extra)).toBeGreaterThan(0.3);
  });
});

describe('what else the second lab does to a bench', () => {
  const coolers = curveCoolers(2, 4, { kinds: ['bare'] });
  const quiet = { mount_K_per_W: 0, sample_K_per_W: 0, reading_K: 0 };
  const still = { temperature_resolution_K: 0 };
  const reads = (scatter: object, count = 3000) => {
    const { truth } = makeVirtualBench({
      seed: 6,
      coolers,
      ambient: { wander_K: 0 },
      instruments: still,
      scatter: { ...quiet, ...scatter },
    });
    return Array.from({ length: count }, (_, k) =>
      truth.freshRun('curve-1', 100, truth.fan_max_rpm('curve-1'), k),
    );
  };

  it('mounts with heavy tails have the standard deviation asked for and more far ones', () => {
    const heavy = reads({ mount_K_per_W: 0.01, mount_freedom: 5 }, 20000);
    const spread = sd(heavy);
    expect(Math.abs(spread - 1)).toBeLessThan(0.05);
    const middle = heavy.reduce((a, b) => a + b, 0) / heavy.length;
    const far = heavy.filter((value) => Math.abs(value - middle) > 3).length / heavy.length;
    // t with 5 degrees of freedom beyond 3 standard deviations: 2·P(t₅ > 3·√(5/3)) = 0.0117 (scipy); normal: 0.0027.
    expect(far).toBeGreaterThan(0.008);
    expect(far).toBeLessThan(0.0155);
  });

  it('drift and each run’s own power error show in fresh runs', () => {
    expect(Math.abs(sd(reads({ drift_K: 0.4 })) / 0.4 - 1)).toBeLessThan(0.06);
    const spec = coolers[0];
    const slope =
      new CurveCooler(spec, labData.heater).rise({ power_W: 100, fan_rpm: spec.fan.max_rpm }) / 100;
    expect(Math.abs(sd(reads({ power_percent: 2 })) / (2 * slope) - 1)).toBeLessThan(0.06);
  });
});
