/**
 * Cubic through points that stays monotone between them: Fritsch and Butland's slopes (SIAM J. Sci. Stat. Comput. 5 (1984)
 * 300), as scipy's PchipInterpolator has them but for the ends, where the slope is that of the outermost chord. Beyond the ends it goes on straight.
 *
 * @param x  increasing
 * @example monotoneSpline([0, 1, 3], [0, 2, 2])(0.5) // 1.25
 */
export function monotoneSpline(x: readonly number[], y: readonly number[]): (at: number) => number {
  const last = x.length - 1;
  const step = x.slice(1).map((value, k) => value - x[k]);
  const chord = step.map((width, k) => (y[k + 1] - y[k]) / width);
  const slope = x.map((_, k) => {
    if (k === 0) return chord[0];
    if (k === last) return chord[last - 1];
    if (chord[k - 1] * chord[k] <= 0) return 0;
    const before = 2 * step[k] + step[k - 1];
    const after = step[k] + 2 * step[k - 1];
    return (before + after) / (before / chord[k - 1] + after / chord[k]);
  });
  return (at) => {
    if (at <= x[0]) return y[0] + slope[0] * (at - x[0]);
    if (at >= x[last]) return y[last] + slope[last] * (at - x[last]);
    let k = 0;
    while (at > x[k + 1]) k++;
    const t = (at - x[k]) / step[k];
    const rest = 1 - t;
    return (
      rest * rest * ((1 + 2 * t) * y[k] + t * step[k] * slope[k]) +
      t * t * ((3 - 2 * t) * y[k + 1] - rest * step[k] * slope[k + 1])
    );
  };
}
