/** An estimate with its standard uncertainty. */
export interface Estimate {
  readonly mean: number;
  readonly u: number;
}

/** Points of the grid on which the spread of the population is integrated out: even in its cube root, so that small spreads are told apart. */
const GRID = 60;
/**
 * Greatest spread considered, as a multiple of the spread of the estimates and their uncertainties together. Of three estimates the tail falls with
 * the square of the spread only.
 */
const WIDEST = 20;

/**
 * What estimates of several like things tell of one another: each drawn towards their common mean, the more the less it is known itself.
 *
 * The largest of several uncertain figures is large partly by luck. Who chooses what to do next by such figures and takes them at face value is
 * disappointed on average (regression to the mean); so the true values are taken to scatter normally about a common mean, neither of which is known.
 * The common mean has a flat prior and is integrated out exactly, the spread of the population has a flat prior from zero and is integrated out on a
 * grid. A comparison that is to stand by its own runs does not use this; a plan does.
 *
 * Sources: Lindley and Smith (1972) J. R. Stat. Soc. B 34, 1 for the normal hierarchy; Gelman (2006) Bayesian Analysis 1, 515 for the flat prior on
 * the spread.
 *
 * @param estimates  independent; fewer than three are given back as they are, since two tell no spread
 * @returns mean and standard deviation of each true value
 * @example shrinkageEstimates([{ mean: 30, u: 2 }, { mean: 31, u: 2 }, { mean: 38, u: 2 }])[2].mean // less than 38
 */
export function shrinkageEstimates(estimates: readonly Estimate[]): Estimate[] {
  if (estimates.length < 3 || !estimates.every(({ u }) => u > 0)) return [...estimates];
  const middle = estimates.reduce((sum, { mean }) => sum + mean, 0) / estimates.length;
  const apart = estimates.reduce((sum, { mean, u }) => sum + (mean - middle) ** 2 + u * u, 0);
  const widest = WIDEST * Math.sqrt(apart / (estimates.length - 1));
  const total = estimates.map(() => ({ mean: 0, square: 0 }));
  const points = Array.from({ length: GRID }, (_, k) => {
    const root = (k + 0.5) / GRID;
    const { logWeight, each } = given(estimates, root ** 3 * widest);
    // Points lie the further apart the larger the spread, as the square of the root.
    return { logWeight: logWeight + 2 * Math.log(root), each };
  });
  const best = Math.max(...points.map(({ logWeight }) => logWeight));
  let weights = 0;
  for (const { logWeight, each } of points) {
    const weight = Math.exp(logWeight - best);
    weights += weight;
    each.forEach(({ mean, u }, i) => {
      total[i].mean += weight * mean;
      total[i].square += weight * (u * u + mean * mean);
    });
  }
  return total.map(({ mean, square }) => {
    const expected = mean / weights;
    return { mean: expected, u: Math.sqrt(Math.max(square / weights - expected * expected, 0)) };
  });
}

/** Each true value given the spread of the population, and the logarithm of how likely that spread is. */
function given(estimates: readonly Estimate[], spread: number): { logWeight: number; each: Estimate[] } {
  let precision = 0;
  let weighted = 0;
  let logWeight = 0;
  for (const { mean, u } of estimates) {
    const variance = spread * spread + u * u;
    precision += 1 / variance;
    weighted += mean / variance;
    logWeight -= 0.5 * Math.log(variance);
  }
  const common = weighted / precision;
  logWeight -= 0.5 * Math.log(precision);
  const each = estimates.map(({ mean, u }): Estimate => {
    const variance = spread * spread + u * u;
    logWeight -= (mean - common) ** 2 / (2 * variance);
    const share = (u * u) / variance;
    return {
      mean: mean + share * (common - mean),
      u: Math.sqrt(u * u * (1 - share) + (share * share) / precision),
    };
  });
  return { logWeight, each };
}
