import { describe, expect, it } from 'vitest';
import { readBench } from '../../src/bench/read-bench.ts';
import { compare, fit as fitBench, predict } from '../../src/commands.ts';

/**
 * J.-C. Wang, Jordan Journal of Mechanical and Industrial Engineering 2(1), 2008, abstract: a heat sink with heat pipes
 * embedded in its base plate has its least total thermal resistance with two pipes, 0.27 K/W, at 140 W; with four pipes it
 * holds 0.24 K/W from 40 W to 240 W. The total resistance is rise over power, so no leak is taken off.
 */
const TWO_PIPES = { power_W: 140, resistance_K_per_W: 0.27 };
const FOUR_PIPES = { from_W: 40, to_W: 240, resistance_K_per_W: 0.24 };

function bench(loads_W: readonly number[]) {
  const yaml = `name: Embedded heat pipes, published
heater: {leak_W_per_K: {value: 0, uncertainty: 0}}
`;
  const row = (cooler: string, power: number, resistance: number) =>
    `${cooler},${power},2000,${(22 + power * resistance).toFixed(2)},22,as published`;
  const runs = [
    'cooler,power_W,fan_rpm,source_C,ambient_C,mount',
    row('two pipes', TWO_PIPES.power_W, TWO_PIPES.resistance_K_per_W),
    ...loads_W.map((power) => row('four pipes', power, FOUR_PIPES.resistance_K_per_W)),
  ].join('\n');
  const coolers = 'cooler,heat_pipes\ntwo pipes,2\nfour pipes,4\n';
  const encode = (text: string) => new TextEncoder().encode(text);
  return readBench(
    new Map([
      ['bench.yaml', encode(yaml)],
      ['runs.csv', encode(runs)],
      ['coolers.csv', encode(coolers)],
    ]),
  );
}

describe('base plate with embedded heat pipes, as published', () => {
  const published = bench([40, 90, 140, 190, 240]);

  it('gives back the published resistances', () => {
    const [two, four] = fitBench(published).coolers;
    expect(two.resistance_K_per_W).toBeCloseTo(0.27, 2);
    expect(four.resistance_K_per_W).toBeCloseTo(0.24, 2);
    expect(Math.abs(four.resistance_K_per_W - 0.24)).toBeLessThan(0.002);
  });

  it('puts four pipes ahead at 140 W by about the published 4.2 K', () => {
    const [pair] = compare(published, { power_W: [140] }).pairs;
    const ahead = pair.a === 'two pipes' ? pair.difference[0].rise_K : -pair.difference[0].rise_K;
    expect(ahead).toBeGreaterThan(3.7);
    expect(ahead).toBeLessThan(4.7);
  });

  it('predicts the loads that were left out', () => {
    const { predictions } = predict(bench([40, 100, 160]), {
      power_W: [70, 130, 200, 240],
      coolers: ['four pipes'],
    });
    for (const p of predictions) {
      const measured = FOUR_PIPES.resistance_K_per_W * p.power_W;
      expect(p.run_low_K).toBeLessThan(measured);
      expect(p.run_high_K).toBeGreaterThan(measured);
      expect(p.extrapolated).toBe(p.power_W > 165);
    }
    // Inside the loads run the best estimate itself is close.
    expect(Math.abs(predictions[1].rise_K - 0.24 * 130)).toBeLessThan(0.4);
  });

  it('leaves room above 140 W for the two pipes getting worse, as their least resistance there says they do', () => {
    const [p] = predict(published, { power_W: [200], coolers: ['two pipes'] }).predictions;
    expect(p.extrapolated).toBe(true);
    expect(p.mean_high_K).toBeGreaterThan(0.27 * 200 + 2);
  });
});
