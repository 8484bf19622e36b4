import { describe, expect, it } from 'vitest';
import { readBench } from '../bench/read-bench.ts';
import { makeRandom } from '../lab/random.ts';
import { isotonic } from '../numerics/isotonic.ts';
import { fanDuties, speedAtDuty } from './speed-at-duty.ts';

function fanBench(seed: number, samples: number) {
  const random = makeRandom(seed);
  const rows = ['cooler,sample,mount,power_W,fan_duty_percent,fan_rpm,source_C,ambient_C'];
  for (let s = 1; s <= samples; s++) {
    const ratio = 1 + random.normal(0, 0.03);
    for (const duty of [30, 50, 70, 100]) {
      const rpm = (200 + 16 * duty) * ratio * (1 + random.normal(0, 0.003));
      rows.push(`Rush,${s},1,100,${duty},${rpm.toFixed(0)},45,22`);
    }
  }
  const bytes = (text: string) => new TextEncoder().encode(text);
  return readBench(
    new Map([
      ['bench.yaml', bytes('name: attic')],
      ['runs.csv', bytes(`${rows.join('\n')}\n`)],
    ]),
  );
}

describe('a rising curve', () => {
  it('is that of R', () => {
    // R's stats package: isoreg(c(5, 9, 1:2, 5:8, 3, 8))$yf.
    expect(isotonic([5, 9, 1, 2, 5, 6, 7, 8, 3, 8])).toEqual([4.25, 4.25, 4.25, 4.25, 5, 6, 6, 6, 6, 8]);
    expect(isotonic([2, 1], [3, 1])).toEqual([1.75, 1.75]);
  });
});

describe('fan speed at a duty', () => {
  it('holds a fresh fan as often as it says', () => {
    let held = 0;
    for (let seed = 1; seed <= 200; seed++) {
      const { fan_rpm, u_rpm } = speedAtDuty(fanBench(seed, 8), 'Rush', 60);
      const fresh = (200 + 16 * 60) * (1 + makeRandom(seed + 5000).normal(0, 0.03));
      // Student's t with the seven degrees of freedom of eight samples.
      if (Math.abs(fresh - fan_rpm) <= 2.365 * u_rpm) held++;
    }
    expect(held / 200).toBeGreaterThan(0.95 - 3 * Math.sqrt((0.95 * 0.05) / 200));
    expect(held).toBeLessThan(200);
  });

  it('tells samples from readings', () => {
    const [found] = fanDuties(fanBench(3, 12));
    expect(found.points.map((point) => point.duty_percent)).toEqual([30, 50, 70, 100]);
    expect(found.sample_share).toBeGreaterThan(0.015);
    expect(found.sample_share).toBeLessThan(0.055);
    expect(found.reading_share).toBeLessThan(0.006);
    expect(fanDuties(fanBench(3, 1))[0].sample_share).toBeNull();
  });

  it('is not guessed outside the duties run', () => {
    expect(() => speedAtDuty(fanBench(1, 2), 'Rush', 20)).toThrow('30 to 100 % can be answered');
    expect(() => speedAtDuty(fanBench(1, 2), 'Sedge', 50)).toThrow(
      'no run of "Sedge" states a fan_duty_percent',
    );
  });
});
