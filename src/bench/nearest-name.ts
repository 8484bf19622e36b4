/**
 * The known name closest to a mistyped one, for "did you mean".
 *
 * Distance is the number of single-character insertions, deletions, substitutions and swaps of neighbours (optimal
 * string alignment), letters compared without case. A name counts as close when at most a third of its characters
 * differ, and never more than three.
 *
 * @returns the closest of `known`, or `undefined` when none is close
 * @example nearestName('fan_rmp', ['power_W', 'fan_rpm']) // 'fan_rpm'
 */
export function nearestName(name: string, known: Iterable<string>): string | undefined {
  if (name.length > 100) return undefined;
  let best: string | undefined;
  let bestDistance = Math.min(3, Math.floor(name.length / 3)) + 1;
  for (const candidate of known) {
    if (candidate === name || Math.abs(candidate.length - name.length) >= bestDistance) continue;
    const distance = alignmentDistance(name.toLowerCase(), candidate.toLowerCase());
    if (distance < bestDistance) {
      best = candidate;
      bestDistance = distance;
    }
  }
  return best;
}

/** ` (did you mean "fan_rpm"?)`, or nothing when no known name is close. */
export function didYouMean(name: string, known: Iterable<string>): string {
  const nearest = nearestName(name, known);
  return nearest === undefined ? '' : ` (did you mean "${nearest}"?)`;
}

function alignmentDistance(a: string, b: string): number {
  let beforeLast: number[] = [];
  let last = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) {
      const change = a[i - 1] === b[j - 1] ? 0 : 1;
      row[j] = Math.min(last[j] + 1, row[j - 1] + 1, last[j - 1] + change);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) {
        row[j] = Math.min(row[j], beforeLast[j - 2] + 1);
      }
    }
    beforeLast = last;
    last = row;
  }
  return last[b.length];
}
