import type { ExponentialFit } from './exponential-fit.ts';
import { lagWith, mostBlocks } from './response-blocks.ts';
import { dot, whitenedExponential, whitenedRise } from './whitened-columns.ts';

const candidates = 12;
const column = () => new Float64Array(mostBlocks);

/** Working columns, shared by all searches. */
const room = {
  columns: Array.from({ length: candidates }, column),
  targets: Array.from({ length: candidates }, column),
  slope: column(),
  logTaus: new Float64Array(candidates),
  gram: new Float64Array(candidates * candidates),
  right: new Float64Array(candidates * candidates),
  total: new Float64Array(candidates),
  lag: { keep: column(), mean: column() },
};

/**
 * Best one, two and three time constants out of a geometric row of candidates, as starts: with the inner products
 * of all candidates at hand, each choice is a system of three at most.
 */
export function exponentialStarts(fit: ExponentialFit, greatest_s: number): Float64Array[] {
  const low = Math.max(fit.low, Math.log(1.2));
  const high = Math.max(low + 1, Math.min(fit.high, Math.log(greatest_s)));
  for (let i = 0; i < candidates; i++) room.logTaus[i] = low + ((high - low) * i) / (candidates - 1);
  multiply(fit);
  return leastLeft();
}

/** Inner products of the candidates' columns with each other and with what each would have to explain. */
function multiply(fit: ExponentialFit): void {
  const { n, blocks, white, ones } = fit;
  const { columns, targets, slope, lag, logTaus, gram, right, total } = room;
  const oneOne = dot(ones, ones, n);
  for (let i = 0; i < candidates; i++) {
    const column = columns[i];
    const target = targets[i];
    whitenedExponential(blocks, white, Math.exp(logTaus[i]), lag, column, slope);
    lagWith(n, lag, blocks.ambient_C, slope);
    whitenedRise(blocks, white, slope, fit.reference_C, target);
    const share = dot(column, ones, n) / oneOne;
    const level = dot(target, ones, n) / oneOne;
    for (let k = 0; k < n; k++) {
      column[k] -= share * ones[k];
      target[k] -= level * ones[k];
    }
    total[i] = dot(target, target, n);
    for (let j = 0; j <= i; j++) {
      gram[i * candidates + j] = gram[j * candidates + i] = dot(column, columns[j], n);
      right[j * candidates + i] = dot(columns[j], target, n);
    }
  }
}

/** The one, two and three candidates that leave least. */
function leastLeft(): Float64Array[] {
  const { logTaus, gram, right, total } = room;
  const best = [Infinity, Infinity, Infinity];
  const out = [new Float64Array(1), new Float64Array(2), new Float64Array(3)];
  const c = candidates;
  for (let s = 0; s < c; s++) {
    const gss = gram[s * c + s] + 1e-12;
    const bs = right[s * c + s];
    const one = total[s] - (bs * bs) / gss;
    if (one < best[0]) {
      best[0] = one;
      out[0][0] = logTaus[s];
    }
    for (let m = 0; m < s; m++) {
      const share = gram[m * c + s] / gss;
      const gmm = gram[m * c + m] - share * gram[m * c + s];
      if (!(gmm > 1e-9 * gram[m * c + m])) continue;
      const bm = right[m * c + s] - share * bs;
      const two = one - (bm * bm) / gmm;
      if (two < best[1]) {
        best[1] = two;
        out[1][0] = logTaus[m];
        out[1][1] = logTaus[s];
      }
      for (let f = 0; f < m; f++) {
        const fs = gram[f * c + s] / gss;
        const gfm = gram[f * c + m] - fs * gram[m * c + s];
        const fm = gfm / gmm;
        const gff = gram[f * c + f] - fs * gram[f * c + s] - fm * gfm;
        if (!(gff > 1e-9 * gram[f * c + f])) continue;
        const bf = right[f * c + s] - fs * bs - fm * bm;
        const three = two - (bf * bf) / gff;
        if (three < best[2]) {
          best[2] = three;
          out[2][0] = logTaus[f];
          out[2][1] = logTaus[m];
          out[2][2] = logTaus[s];
        }
      }
    }
  }
  return out;
}
