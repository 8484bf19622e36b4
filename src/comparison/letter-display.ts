/**
 * Compact letter display: coolers that share a letter are not resolved from each other.
 *
 * Insert and absorb: start with one letter for all; for every resolved pair, split each letter that holds both into two
 * that hold one each, then drop letters whose members another letter already has.
 *
 * Source: Piepho (2004), Journal of Computational and Graphical Statistics 13, 456.
 *
 * @param count  number of items, numbered in the order in which letters are to be given (best first)
 * @param resolved  whether items i and j are resolved
 * @returns letters of each item, in alphabetical order: a, b, …, z, a2, b2, …
 * @example letterDisplay(3, (i, j) => Math.abs(i - j) > 1) // [['a'], ['a', 'b'], ['b']]
 */
export function letterDisplay(count: number, resolved: (i: number, j: number) => boolean): string[][] {
  let groups: Set<number>[] = [new Set(Array.from({ length: count }, (_, i) => i))];
  for (let i = 0; i < count; i++) {
    for (let j = i + 1; j < count; j++) {
      if (!resolved(i, j)) continue;
      const split: Set<number>[] = [];
      for (const group of groups) {
        if (!group.has(i) || !group.has(j)) {
          split.push(group);
          continue;
        }
        for (const out of [i, j]) {
          const rest = new Set(group);
          rest.delete(out);
          split.push(rest);
        }
      }
      groups = absorb(split);
    }
  }
  groups.sort((a, b) => compareSets(a, b));
  const letters: string[][] = Array.from({ length: count }, () => []);
  groups.forEach((group, g) => {
    for (const item of group) letters[item].push(letter(g));
  });
  return letters;
}

/** Without groups that lie within another. */
function absorb(groups: readonly Set<number>[]): Set<number>[] {
  const bySize = [...groups].sort((a, b) => b.size - a.size);
  const kept: Set<number>[] = [];
  for (const group of bySize) {
    if (!kept.some((other) => isWithin(group, other))) kept.push(group);
  }
  return kept;
}

function isWithin(inner: Set<number>, outer: Set<number>): boolean {
  if (inner.size > outer.size) return false;
  for (const item of inner) if (!outer.has(item)) return false;
  return true;
}

function compareSets(a: Set<number>, b: Set<number>): number {
  const x = [...a].sort((i, j) => i - j);
  const y = [...b].sort((i, j) => i - j);
  for (let k = 0; k < Math.min(x.length, y.length); k++) if (x[k] !== y[k]) return x[k] - y[k];
  return x.length - y.length;
}

function letter(index: number): string {
  const name = String.fromCharCode(97 + (index % 26));
  return index < 26 ? name : `${name}${Math.floor(index / 26) + 1}`;
}
