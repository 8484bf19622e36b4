/** A cooler's place on the chart of rise against sound. */
export interface SoundAndRise {
  cooler: string;
  sound_dBA: number;
  rise_K: number;
}

/**
 * The undominated set: the points for which no other is both quieter and cooler.
 *
 * A point is dominated when another is at least as good in both sound and rise and better in one. What remains is the
 * choice that is left to taste; everything else is beaten outright. Differences below what the test resolves count
 * here as differences: call it on points that are apart, or pass the least difference that matters as `atLeast_*`,
 * by which another must then be better in one quantity (while no worse in the other).
 *
 * @param points   one entry per cooler and condition
 * @param options  `atLeast_dB`, `atLeast_K`: least differences that count, default 0
 * @returns the undominated points, quietest first
 * @example undominated([{ cooler: 'A', sound_dBA: 30, rise_K: 50 }, { cooler: 'B', sound_dBA: 35, rise_K: 55 }])
 * // [{ cooler: 'A', … }]
 */
export function undominated<Point extends SoundAndRise>(
  points: readonly Point[],
  options: { atLeast_dB?: number; atLeast_K?: number } = {},
): Point[] {
  const { atLeast_dB = 0, atLeast_K = 0 } = options;
  const beats = (a: Point, b: Point): boolean => {
    const quieter_dB = b.sound_dBA - a.sound_dBA;
    const cooler_K = b.rise_K - a.rise_K;
    if (quieter_dB < 0 || cooler_K < 0) return false;
    return quieter_dB > atLeast_dB || cooler_K > atLeast_K;
  };
  return points
    .filter((point) => !points.some((other) => other !== point && beats(other, point)))
    .sort((p, q) => p.sound_dBA - q.sound_dBA || p.rise_K - q.rise_K);
}
