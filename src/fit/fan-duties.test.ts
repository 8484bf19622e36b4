import { describe, expect, it } from 'vitest';
import { readBench } from '../bench/read-bench.ts';
import { makeRandom } from '../lab/random.ts';
import { isotonic } from '../numerics/isotonic.ts';
import { fanDuties } from './fan-duties.ts';

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
  it('tells samples from readings', () => {
    const [found] = fanDuties(fanBench(3, 12));
    expect(found.points.map((point) => point.duty_percent)).toEqual([30, 50, 70, 100]);
    expect(found.sample_share).toBeGreaterThan(0.015);
    expect(found.sample_share).toBeLessThan(0.055);
    expect(found.reading_share).toBeLessThan(0.006);
    expect(fanDuties(fanBench(3, 1))[0].sample_share).toBeNull();
  });
});
