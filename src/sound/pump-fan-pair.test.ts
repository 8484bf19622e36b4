import { describe, expect, it } from 'vitest';
import { generator } from '../../test/benchmarks/simulated-sound.ts';
import type { Bench } from '../bench/bench.ts';
import { readBench } from '../bench/read-bench.ts';
import { posteriorFor } from '../fit/posterior-for.ts';
import type { CoolerSpec } from '../lab/cooler-spec.ts';
import { labData } from '../lab/lab-data.generated.ts';
import { VirtualCooler } from '../lab/physics.ts';
import type { Conditions } from '../predict/conditions.ts';
import { energySum } from './energy-sum.ts';
import { coolestPair } from './pump-and-fan.ts';
import type { PumpAndFanPair } from './pump-fan-pair.ts';
import { soundTradeOff } from './sound-trade-off.ts';

const tradeOffOf = (bench: Bench, conditions: Conditions = {}) =>
  soundTradeOff(posteriorFor(bench, conditions.source), conditions);

const spec = labData.coolers.find((one) => one.kind === 'liquid') as CoolerSpec;
const lab = new VirtualCooler(spec, labData.heater);
const fan = { a_dBA: 42 - 50 * Math.log10(1800), b_dB_per_decade: 50, least_rpm: 400, greatest_rpm: 1800 };
const pump = { a_dBA: 38 - 45 * Math.log10(2800), b_dB_per_decade: 45, least_rpm: 1200, greatest_rpm: 2800 };
const trueRise = (fan_rpm: number, pump_rpm: number) => lab.rise({ power_W: 200, fan_rpm, pump_rpm });
const PUMPS = [1200, 1900, 2800];

/** A bench of one liquid cooler; `pumps` are the pump speeds of its runs and of its sound readings. */
function benchOf(pumps: { runs: number[]; noise: number[] }): Bench {
  const { normal } = generator(8);
  const runs = ['cooler,sample,mount,power_W,fan_rpm,pump_rpm,source_C,ambient_C'];
  for (const [sample, mount] of [
    [1, 1],
    [1, 2],
    [2, 1],
    [2, 2],
  ]) {
    const extra = 0.002 * normal();
    for (const power_W of [100, 200]) {
      for (const fan_rpm of [500, 900, 1800]) {
        for (const pump_rpm of pumps.runs) {
          const rise = lab.rise({ power_W, fan_rpm, pump_rpm, interface_K_per_W: extra }) + 0.05 * normal();
          runs.push(
            `Gannet,${sample},${mount},${power_W},${fan_rpm},${pump_rpm},${(22 + rise).toFixed(2)},22`,
          );
        }
      }
    }
  }
  const noise = ['cooler,fan_rpm,pump_rpm,sound_dBA'];
  for (const fan_rpm of [0, 500, 900, 1300, 1800]) {
    for (const pump_rpm of pumps.noise) {
      const own = [fan, pump].map(({ a_dBA, b_dB_per_decade }, i) => {
        const rpm = i === 0 ? fan_rpm : pump_rpm;
        return rpm > 0 ? a_dBA + b_dB_per_decade * Math.log10(rpm) : Number.NEGATIVE_INFINITY;
      });
      noise.push(`Gannet,${fan_rpm},${pump_rpm},${(energySum([...own, 26]) + 0.2 * normal()).toFixed(1)}`);
    }
  }
  const bytes = (text: string) => new TextEncoder().encode(text);
  return readBench(
    new Map([
      ['bench.yaml', bytes('name: Pair\ninstruments: { sound_level: { background_dBA: 26 } }\n')],
      ['runs.csv', bytes(`${runs.join('\n')}\n`)],
      ['coolers.csv', bytes('cooler,kind,fan_max_rpm,fan_min_rpm\nGannet,liquid,1800,400\n')],
      ['noise.csv', bytes(`${noise.join('\n')}\n`)],
    ]),
  );
}

const pairOf = (bench: Bench, sound_dBA: number) =>
  tradeOffOf(bench, { power_W: [200], sound_dBA }).pump_and_fan[0];

describe('pump and fan at one level', () => {
  it('comes as near the best pair as the true laws of sound and heat allow', () => {
    const bench = benchOf({ runs: PUMPS, noise: PUMPS });
    for (const level of [36, 39]) {
      const own = 10 * Math.log10(10 ** (level / 10) - 10 ** 2.6);
      const best = coolestPair(fan, pump, own, trueRise);
      const found = pairOf(bench, level) as PumpAndFanPair;
      expect(found.sound_dBA).toBeCloseTo(level, 3);
      expect(found.pump_rpm).toBeGreaterThan(1200);
      expect(trueRise(found.fan_rpm, found.pump_rpm) - best.rise_K).toBeLessThan(0.5);
      expect(best.rise_K).toBeGreaterThan(found.low_K);
      expect(best.rise_K).toBeLessThan(found.high_K);
      expect(found.high_K - found.low_K).toBeLessThan(5);
    }
  });
  it('says what is missing', () => {
    expect(pairOf(benchOf({ runs: PUMPS, noise: [2800] }), 39)).toEqual({
      cooler: 'Gannet',
      reason: 'its sound was metered at one pump speed only; meter it at a second',
    });
    expect(pairOf(benchOf({ runs: [2800], noise: PUMPS }), 39)).toMatchObject({
      reason: expect.stringMatching(/run at one pump speed only/),
    });
  });
});
