import type { Run } from '../bench/bench.ts';
import type { BenchPosterior } from '../fit/bench-posterior.ts';
import { coolerRuns } from '../fit/cooler-runs.ts';
import { departureFromPrior } from '../fit/curve-posterior.ts';
import { type BenchScatter, componentFactors, estimateScatter, type ScatterPart } from '../fit/scatter.ts';

/**
 * The bench's scatters by restricted likelihood from some of its runs alone, about the curves as they stand.
 *
 * The curves are linear enough for the runs taken out to be taken out of the likelihood and not of the fit, so that many sets of suspects can
 * be tried for the price of one fit. What sessions did is already off the rises.
 *
 * @param start  scatters to begin from
 */
export function scatterWithout(
  posterior: BenchPosterior,
  isTrusted: (run: Run) => boolean,
  start: BenchScatter = posterior.scatter,
): BenchScatter {
  const parts = posterior.coolers.flatMap(
    ({ data, curves, weights, typical_K_per_W, shapeScale }): ScatterPart[] => {
      const kept = data.runs.flatMap((run, i) => (isTrusted(run) ? [i] : []));
      const own = coolerRuns(
        posterior.bench,
        data.cooler,
        data.source,
        kept.map((i) => data.runs[i]),
      );
      if (!own) return [];
      const best = curves[weights.indexOf(Math.max(...weights))];
      const p = best.eta.length;
      const departure = departureFromPrior(best);
      const precision = new Float64Array(p * p);
      best.prior.deviation.forEach((s, j) => {
        precision[j * p + j] = 1 / s ** 2;
      });
      return [
        {
          data: own,
          factors: componentFactors(own, typical_K_per_W, shapeScale),
          residual_K: Float64Array.from(kept, (i) => departure[i]),
          jacobian: Float64Array.from(kept.flatMap((i) => [...best.at.jacobian.subarray(i * p, i * p + p)])),
          columns: p,
          priorPrecision: precision,
        },
      ];
    },
  );
  return estimateScatter(parts, start, posterior.active, 1e-3);
}
