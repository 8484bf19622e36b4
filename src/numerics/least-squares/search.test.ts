import { describe, expect, it } from 'vitest';
import { fitFormula } from '../../formula/fit-formula.ts';

const x = Array.from({ length: 60 }, (_, i) => i / 3);

describe('search', () => {
  it('leaves a local minimum that fits well but in a pattern', () => {
    // A cubic over a cubic can put a pole between two rows and still leave little of the scatter.
    const y = x.map(
      (t) => (50 + 20 * t + 3 * t ** 2) / (1 + 0.3 * t + 0.02 * t ** 2) + 0.2 * Math.sin(9 * t * t),
    );
    for (const scale of [0.1, 1, 10, -1]) {
      const fit = fitFormula({
        formula: '(a + b*x + c*x^2)/(1 + d*x + f*x^2)',
        data: { x, y },
        start: { a: 10 * scale, b: scale, c: scale, d: scale, f: 0.1 * scale },
      });
      expect(fit.reason).toBe('');
      expect(fit.residualStandardDeviation).toBeLessThan(0.16);
      expect(fit.parameters.a.value).toBeCloseTo(50, 0);
    }
  });

  it('finds the period of a wave, or says that there are rivals or why it failed', () => {
    const noise = (t: number) => Math.sin(131 * t * t) + Math.sin(77 * t * t + 1);
    // Uneven times: at even ones a wave and its alias fit equally well.
    const times = x.map((t, i) => t + 0.15 * Math.sin(i * i));
    const y = times.map((t) => 3 + Math.sin((2 * Math.PI * t) / 5) + 0.7 * noise(t));
    for (const period of [0.5, 2, 4, 5, 6, 10, 50]) {
      const fit = fitFormula({
        formula: 'm + a*sin(2*pi*x/T) + b*cos(2*pi*x/T)',
        data: { x: times, y },
        start: { m: 1, a: 1, b: 1, T: period },
      });
      const right = fit.converged && Math.abs(fit.parameters.T.value - 5) < 0.2;
      if (period >= 4 && period <= 6) expect(right).toBe(true);
      if (!right)
        expect([fit.reason, ...fit.warnings].join('')).toMatch(/other minima|no start|moving|told|effect/);
    }
  });
});
