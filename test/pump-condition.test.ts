import { describe, expect, it } from 'vitest';
import { compare } from '../src/answers/compare.ts';
import { predict } from '../src/answers/predict.ts';
import { readBench } from '../src/bench/read-bench.ts';
import { curveCoolers } from '../src/lab/curve-coolers.ts';
import { makeVirtualBench } from '../src/lab/virtual-bench.ts';

/** Two liquid coolers and one for air, run at these shares of the pump's own speed. */
const made = (pumps: readonly number[], stated = false) => {
  const [a, b] = curveCoolers(2, 3, { kinds: ['liquid'] });
  const [, , air] = curveCoolers(3, 3, { kinds: ['pipes'] });
  const { files } = makeVirtualBench({
    seed: 3,
    coolers: [a, b, air],
    noise_speeds: [],
    conditions: pumps.flatMap((pump) => [60, 120, 180].map((power_W) => ({ power_W, speed: 1, pump }))),
  });
  const bench = readBench(files);
  const rpm = Math.round(a.loop!.pump_rpm * pumps[0]);
  if (stated) bench.coolers[0].extra.pump_max_rpm = String(a.loop!.pump_rpm);
  return { bench, rpm, names: [a.cooler, b.cooler, air.cooler] };
};

describe('the speed of a pump as a condition', () => {
  it('raises the rise of liquid coolers as it falls, and leaves those for air alone', () => {
    const { bench } = made([1, 0.5]);
    const rises = (pump_percent: number) =>
      predict(bench, { power_W: [150], pump_percent }).predictions.map(({ rise_K }) => rise_K);
    const [full, half] = [rises(100), rises(50)];
    expect(half[0]).toBeGreaterThan(full[0] + 0.3);
    expect(half[1]).toBeGreaterThan(full[1] + 0.3);
    expect(half[2]).toBe(full[2]);
    expect(full).toEqual(predict(bench, { power_W: [150] }).predictions.map(({ rise_K }) => rise_K));
  });

  it('is a star and a note where it was not run', () => {
    const { bench, rpm, names } = made([1]);
    const [one, , air] = predict(bench, { power_W: [150], pump_rpm: 0.6 * rpm }).predictions;
    expect(one.extrapolated).toBe(true);
    expect(one.notes.join()).toContain(
      `its pump was run at ${rpm} rpm, not at the ${Math.round(0.6 * rpm)} rpm asked for`,
    );
    expect(air.extrapolated).toBe(false);
    const { loads } = compare(bench, { power_W: [150], pump_percent: 60 });
    const starred = loads[0].order.filter(({ extrapolated }) => extrapolated).map(({ cooler }) => cooler);
    expect(starred.sort()).toEqual(names.slice(0, 2).sort());
  });

  it('is told of a cooler that was never run at the greatest that coolers.csv states', () => {
    const { bench, rpm } = made([0.5], true);
    const [one, other] = predict(bench, { power_W: [150] }).predictions;
    expect(one.notes.join()).toContain(`its pump was run at ${rpm} rpm and never at its greatest speed`);
    expect(other.notes.join()).not.toContain('pump');
  });
});
