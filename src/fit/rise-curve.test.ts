import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { shippedModel, shippedModels } from '../formula/shipped-models.ts';
import { curveValues, RiseCurve } from './rise-curve.ts';

describe('rise against metered load with a leak', () => {
  it('of a constant resistance is the closed form R·P/(1 + G·R)', () => {
    const curve = new RiseCurve(shippedModel('constant')!);
    const at = { power_W: Float64Array.of(50, 200), speed: Float64Array.of(1, 1) };
    const out = curveValues(2, 1);
    curve.evaluate([Math.log(0.25)], at, 0.1, out);
    for (const [i, power] of [50, 200].entries()) {
      expect(out.rise_K[i]).toBeCloseTo((0.25 * power) / (1 + 0.1 * 0.25), 12);
      expect(out.base_W[i]).toBeCloseTo(power - 0.1 * out.rise_K[i], 12);
      expect(out.slope_K_per_W[i]).toBeCloseTo(0.25 / 1.025, 12);
      expect(out.loading_W[i]).toBeCloseTo(out.base_W[i] / 1.025, 12);
    }
  });

  it('balances load, leak and base for every model, and its derivatives agree with differences', () => {
    const number = (min: number, max: number) => fc.double({ min, max, noNaN: true });
    fc.assert(
      fc.property(
        fc.constantFrom(...shippedModels),
        number(20, 320),
        number(0.3, 1),
        number(0, 0.3),
        number(-0.4, 0.4),
        (model, power, speed, leak, nudge) => {
          const curve = new RiseCurve(model);
          const p = curve.parameterCount;
          const eta = Float64Array.from(curve.scales, (scale, j) => scale.start + nudge * Math.cos(j));
          const evaluate = (e: ArrayLike<number>, load: number, g: number) => {
            const out = curveValues(1, p);
            const at = { power_W: Float64Array.of(load), speed: Float64Array.of(speed) };
            curve.evaluate(e, at, g, out);
            return out;
          };
          const out = evaluate(eta, power, leak);
          expect(Math.abs(out.base_W[0] + leak * out.rise_K[0] - power)).toBeLessThan(1e-8);
          const close = (derivative: number, difference: number) =>
            expect(Math.abs(derivative - difference)).toBeLessThan(2e-4 * (1 + Math.abs(difference)));
          const h = 1e-4;
          close(
            out.slope_K_per_W[0],
            (evaluate(eta, power + h, leak).rise_K[0] - evaluate(eta, power - h, leak).rise_K[0]) / (2 * h),
          );
          close(
            out.leakSlope[0],
            (evaluate(eta, power, leak + 1e-6).rise_K[0] - evaluate(eta, power, leak).rise_K[0]) / 1e-6,
          );
          for (let j = 0; j < p; j++) {
            const up = eta.slice();
            const down = eta.slice();
            up[j] += h;
            down[j] -= h;
            close(
              out.jacobian[j],
              (evaluate(up, power, leak).rise_K[0] - evaluate(down, power, leak).rise_K[0]) / (2 * h),
            );
          }
        },
      ),
      { numRuns: 150 },
    );
  });
});
