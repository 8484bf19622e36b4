/** Parts of a step that {@link smooth} makes. */
export const PARTS = 4;

/** Values between those at equal steps, by cubics through them (Catmull and Rom), so that no corner shows. */
export function smooth(values: readonly number[]): number[] {
  const at = (k: number): number => values[Math.min(values.length - 1, Math.max(0, k))];
  return values.flatMap((value, k) =>
    Array.from({ length: k + 1 < values.length ? PARTS : 1 }, (_, part) => {
      const [a, c, d, t] = [at(k - 1), at(k + 1), at(k + 2), part / PARTS];
      const bend = 2 * a - 5 * value + 4 * c - d + t * (3 * (value - c) + d - a);
      return value + (t * (c - a + t * bend)) / 2;
    }),
  );
}
