import { describe, expect, it } from 'vitest';
import { operatingFlow } from './fan.ts';

const fan = { max_rpm: 1800, min_rpm: 400, count: 1, free_flow_m3_per_h: 120, stall_Pa: 25, belly: 0.3 };

describe('operating point', () => {
  it('meets the curve of the fan', () => {
    for (const speed of [0.3, 0.7, 1]) {
      const flow = operatingFlow(fan, speed, 300, 15000, 1);
      const x = flow / (120 / 3600);
      const gives = 25 * (speed ** 2 + 0.3 * speed * x - 1.3 * x * x);
      expect(gives).toBeCloseTo(300 * flow + 15000 * flow * flow, 9);
    }
  });
  it('has the free flow without loss', () => {
    expect(operatingFlow(fan, 1, 0, 0, 1)).toBeCloseTo(120 / 3600, 12);
  });
  it('follows the fan laws on a purely quadratic loss, and falls faster than speed on a laminar one', () => {
    const full = operatingFlow(fan, 1, 0, 15000, 1);
    expect(operatingFlow(fan, 0.4, 0, 15000, 1)).toBeCloseTo(0.4 * full, 12);
    expect(operatingFlow(fan, 0.4, 600, 0, 1)).toBeLessThan(0.4 * operatingFlow(fan, 1, 600, 0, 1));
  });
  it('keeps the flow in thin air when the loss is turbulent', () => {
    expect(operatingFlow(fan, 1, 0, 0.8 * 15000, 0.8)).toBeCloseTo(operatingFlow(fan, 1, 0, 15000, 1), 12);
  });
  it('stands still at rest', () => {
    expect(operatingFlow(fan, 0, 300, 15000, 1)).toBe(0);
  });
});
