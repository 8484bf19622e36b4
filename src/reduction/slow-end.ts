import { type ExponentialFit, type ExponentialMode, mostTerms } from './exponential-fit.ts';

const nodes = 11;

/** Goes through the slowest time constant from `from` to `to`, the faster ones following. */
export function throughRange(
  fit: ExponentialFit,
  mode: ExponentialMode,
  from: number,
  to: number,
  keep: (mode: ExponentialMode | undefined, spacing: number) => void,
  iterations: number,
): void {
  const spacing = (to - from) / (nodes - 1);
  if (!(spacing > 0)) return;
  const { terms } = mode;
  const centre = Math.min(nodes - 1, Math.max(0, Math.round((mode.logTaus[terms - 1] - from) / spacing)));
  for (const direction of [1, -1]) {
    const taus = mode.logTaus.slice();
    for (let i = direction > 0 ? centre : centre - 1; i >= 0 && i < nodes; i += direction) {
      taus[terms - 1] = from + i * spacing;
      for (let k = terms - 2; k >= 0; k--) taus[k] = Math.min(taus[k], taus[k + 1] - 0.24);
      keep(
        iterations > 0 ? fit.refine(taus, terms, 1, iterations) : fit.foresee(taus, terms, 1),
        i === 0 || i === nodes - 1 ? spacing / 2 : spacing,
      );
    }
  }
}

/** A third, slower exponential that the data need not show but cannot rule out. */
export function slowTail(
  fit: ExponentialFit,
  two: ExponentialMode,
  keep: (mode: ExponentialMode | undefined, spacing: number) => void,
): void {
  const count = 5;
  const from = two.logTaus[1] + 0.35;
  const spacing = (fit.high - from) / (count - 1);
  const taus = new Float64Array(mostTerms);
  taus.set(two.logTaus);
  for (let i = 0; i < count; i++) {
    taus[2] = from + i * spacing;
    keep(fit.foresee(taus, 3, 1), i === 0 || i === count - 1 ? spacing / 2 : spacing);
  }
}
