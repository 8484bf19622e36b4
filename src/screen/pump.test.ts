import { describe, expect, it } from 'vitest';
import type { Run } from '../bench/bench.ts';
import { readBench } from '../bench/read-bench.ts';
import { coolerRuns } from '../fit/cooler-runs.ts';
import type { CoolerSpec } from '../lab/cooler-spec.ts';
import { labData } from '../lab/lab-data.generated.ts';
import { VirtualCooler } from '../lab/physics.ts';
import { hasLoop, pumpShares, recordedPump } from './pump.ts';

const runOf = (more: Partial<Run>): Run => ({
  run: 'r',
  cooler: 'A',
  sample: '1',
  source: 'heater',
  power_W: 100,
  fan_rpm: 1000,
  source_C: 50,
  ambient_C: 22,
  extra: {},
  line: 1,
  ...more,
});

function benchOf(rows: readonly string[], kind = 'liquid') {
  const files = {
    'bench.yaml': 'name: b\n',
    'coolers.csv': `cooler,kind,fan_max_rpm\nA,${kind},1000\n`,
    'runs.csv': `run,cooler,mount,power_W,fan_rpm,pump_rpm,coolant_C,source_C,ambient_C\n${rows.join('\n')}\n`,
  };
  const bench = readBench(
    new Map(Object.entries(files).map(([name, text]) => [name, new TextEncoder().encode(text)])),
  );
  const data = coolerRuns(bench, bench.coolers[0], 'heater', bench.runs);
  if (!data) throw new Error('no runs');
  return data;
}

describe('whether there is a pump', () => {
  it('is told by the list of coolers, or by what the runs hold', () => {
    expect(hasLoop({ kind: 'liquid' }, [])).toBe(true);
    expect(hasLoop({ kind: 'air' }, [runOf({})])).toBe(false);
    expect(hasLoop({ kind: 'air' }, [runOf({}), runOf({ pump_rpm: 2000 })])).toBe(true);
    expect(hasLoop({ kind: 'air' }, [runOf({ coolant_C: 30 })])).toBe(true);
  });
});

describe('patterns of a slow pump', () => {
  it('are those of a resistance in series at one fan speed and one pump speed', () => {
    const shares = pumpShares(benchOf(['a,A,1,100,1000,2000,,50,22', 'b,A,1,200,1000,2000,,78,22']));
    for (const { relative } of shares) for (const value of relative) expect(value).toBeCloseTo(1, 12);
    expect(shares.reduce((sum, one) => sum + one.weight, 0)).toBeCloseTo(1, 12);
  });

  it('fall off with the fan and grow as the recorded pump slows', () => {
    const shares = pumpShares(
      benchOf([
        'a,A,1,100,1000,2000,,50,22',
        'b,A,1,100,500,2000,,55,22',
        'c,A,1,100,1000,1000,,52,22',
        'd,A,1,100,500,1000,,57,22',
      ]),
    );
    for (const { relative, flow } of shares) {
      expect(relative[1]).toBeLessThan(relative[0]);
      expect(relative[2]).toBeGreaterThanOrEqual(2 * relative[0] * (1 - 1e-12));
      expect(flow[1]).toBeCloseTo(flow[0], 12);
    }
  });

  it('hold what the lab does to source and coolant, which knows nothing of them', () => {
    const spec = labData.coolers.find(({ kind }) => kind === 'liquid') as CoolerSpec;
    const [{ coolant_shares }] = pumpShares(
      benchOf(['a,A,1,100,1000,2000,40,50,22', 'b,A,1,200,1000,2000,60,78,22']),
    );
    expect(coolant_shares.reduce((sum, one) => sum + one.weight, 0)).toBeCloseTo(1, 12);
    const values = coolant_shares.map((one) => one.value);
    const cooler = new VirtualCooler(spec, labData.heater);
    const ratioAt = (speed: number): number[] => {
      const at = { power_W: 180, fan_rpm: speed * spec.fan.max_rpm };
      const well = cooler.steady(at);
      const slow = cooler.steady({ ...at, pump_rpm: 0.3 * (spec.loop?.pump_rpm ?? 0) });
      const source = slow.rise_K - well.rise_K;
      expect(source).toBeGreaterThan(0.5);
      const [behind, before] = [slow.fins_K - well.fins_K, slow.coolantIn_K - well.coolantIn_K];
      for (const shift of [behind, before]) {
        expect(shift / source).toBeGreaterThan(Math.min(...values) - 0.3);
        expect(shift / source).toBeLessThan(Math.max(...values) + 0.3);
      }
      expect(behind).toBeGreaterThan(0);
      expect(before).toBeLessThan(0);
      return [source, before];
    };
    const [full, beforeFull] = ratioAt(1);
    const [half, beforeHalf] = ratioAt(0.55);
    const power = Math.log(full / half) / Math.log(1 / 0.55);
    expect(power).toBeGreaterThan(0.1);
    expect(power).toBeLessThan(1);
    // Before the plate the fan hardly matters.
    expect(beforeHalf / beforeFull).toBeGreaterThan(0.9);
    expect(beforeHalf / beforeFull).toBeLessThan(1.3);
  });
});

describe('the recorded pump', () => {
  it('is low below nine tenths of the usual speed', () => {
    const at = (pump_rpm: number | undefined) => runOf({ pump_rpm });
    const usual = [at(2800), at(2750), at(2820)];
    expect(recordedPump([at(1400), at(1400)], usual)).toEqual({
      pump_rpm: 1400,
      usual_rpm: 2800,
      isLow: true,
    });
    expect(recordedPump([at(2600)], usual)).toMatchObject({ isLow: false });
    expect(recordedPump([at(undefined)], usual)).toBeUndefined();
    expect(recordedPump([at(1400)], [])).toBeUndefined();
    // A plan that slows the pump on every mount is the usual.
    const planned = [at(2800), at(2800), at(1400)];
    expect(recordedPump(planned, [...planned, ...planned])).toMatchObject({ isLow: false });
  });
});
