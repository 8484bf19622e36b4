import type { Run } from '../bench/bench.ts';
import type { BenchPosterior } from '../fit/bench-posterior.ts';
import { coolerRuns } from '../fit/cooler-runs.ts';
import { departureFromPrior } from '../fit/curve-posterior.ts';
import { type BenchScatter, componentFactors, estimateScatter, type ScatterPart } from '../fit/scatter.ts';
import { submatrix } from '../numerics/matrix.ts';

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
    ({ data, factors, curves, weights, typical_K_per_W, shapeScale }): ScatterPart[] => {
      const kept = data.runs.flatMap((run, i) => (isTrusted(run) ? [i] : []));
      const isWhole = kept.length === data.runs.length;
      const runs = kept.map((i) => data.runs[i]);
      const own = isWhole ? data : coolerRuns(posterior.bench, data.cooler, data.source, runs);
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
          factors: isWhole ? factors : componentFactors(own, typical_K_per_W, shapeScale),
          residual_K: isWhole ? departure : Float64Array.from(kept, (i) => departure[i]),
          jacobian: isWhole ? best.at.jacobian : submatrix(best.at.jacobian, p, kept, [...best.eta.keys()]),
          columns: p,
          priorPrecision: precision,
        },
      ];
    },
  );
  return estimateScatter(parts, start, posterior.active, 1e-3);
}
