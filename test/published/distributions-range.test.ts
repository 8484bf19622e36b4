import { describe, expect, it } from 'vitest';
import {
  chiSquaredQuantile,
  normalQuantile,
  studentTCdf,
  studentTQuantile,
} from '../../src/numerics/distributions.ts';
import reference from '../fixtures/distributions.json' with { type: 'json' };

function expectAlike(ours: number, theirs: number, relative: number, where: string): void {
  const off = Math.abs(ours - theirs) / Math.max(Math.abs(theirs), 1e-12);
  expect(off, `${where}: ${ours} for ${theirs}`).toBeLessThan(relative);
}

// mpmath 1.3.0 in 40 digits over the whole range that is asked for here: scripts/distributions.py.
describe.each(reference.freedoms.map((v, k) => [v, k]))('with %d degrees of freedom', (v, k) => {
  it("Student's t agrees with forty digits", () => {
    reference.shares.forEach((p, i) => {
      expectAlike(studentTQuantile(p, v), reference.studentT[k][i], 1e-10, `quantile ${p}`);
    });
    reference.places.forEach((t, i) => {
      expectAlike(studentTCdf(t, v), reference.studentTArea[k][i], 1e-10, `area below ${t}`);
    });
  });

  it('χ² agrees with forty digits', () => {
    reference.shares.forEach((p, i) => {
      const theirs = reference.chiSquared[k][i];
      if (theirs > 1e-12) expectAlike(chiSquaredQuantile(p, v), theirs, 1e-10, `quantile ${p}`);
      else expect(chiSquaredQuantile(p, v)).toBeLessThan(1e-11);
    });
  });
});

it('the normal quantile agrees with forty digits, in the far tail too', () => {
  for (const [p, z] of reference.normal) expectAlike(normalQuantile(p), z, 1e-13, `quantile ${p}`);
  // mpmath 1.3.0, findroot(lambda z: ncdf(z) - 1e-12).
  expectAlike(normalQuantile(1e-12), -7.034483825301132, 1e-14, 'quantile 1e-12');
});

it('what is asked for beyond the range is infinite or no number', () => {
  expect([normalQuantile(0), normalQuantile(1), normalQuantile(2)]).toEqual([
    -Infinity,
    Infinity,
    Number.NaN,
  ]);
  expect([chiSquaredQuantile(0, 3), chiSquaredQuantile(1, 3)]).toEqual([0, Infinity]);
  expect(studentTQuantile(0.975, -1)).toBeNaN();
});
