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
  let groups: Members[] = [everyone(count)];
  for (let i = 0; i < count; i++) {
    for (let j = i + 1; j < count; j++) {
      if (!resolved(i, j)) continue;
      const whole: Members[] = [];
      const split: Members[] = [];
      for (const group of groups) {
        if (has(group, i) && has(group, j)) split.push(without(group, i), without(group, j));
        else whole.push(group);
      }
      if (split.length > 0) groups = absorb(whole, split);
    }
  }
  const lists = groups.map((group) => listOf(group, count)).sort(compareLists);
  const letters: string[][] = Array.from({ length: count }, () => []);
  lists.forEach((list, g) => {
    for (const item of list) letters[item].push(letter(g));
  });
  return letters;
}

/** Members as bits, 32 to a word: a bench of hundreds of coolers makes hundreds of groups and many splits. */
type Members = Uint32Array;

function everyone(count: number): Members {
  const members = new Uint32Array(Math.ceil(count / 32));
  for (let i = 0; i < count; i++) members[i >> 5] |= 1 << (i & 31);
  return members;
}

const has = (members: Members, i: number): boolean => ((members[i >> 5] >>> (i & 31)) & 1) === 1;

function without(members: Members, i: number): Members {
  const rest = members.slice();
  rest[i >> 5] &= ~(1 << (i & 31));
  return rest;
}

function listOf(members: Members, count: number): number[] {
  return Array.from({ length: count }, (_, i) => i).filter((i) => has(members, i));
}

/**
 * Without groups that lie within another. The groups left whole lie within none, since none did before and the split ones
 * only got smaller, so only the split ones are looked at.
 */
function absorb(whole: readonly Members[], split: readonly Members[]): Members[] {
  const added: Members[] = [];
  split.forEach((group, k) => {
    const held =
      whole.some((other) => isWithin(group, other)) ||
      // Of two that are equal the first stays.
      split.some((other, l) => l !== k && isWithin(group, other) && (l < k || !isWithin(other, group)));
    if (!held) added.push(group);
  });
  return [...whole, ...added];
}

function isWithin(inner: Members, outer: Members): boolean {
  for (let w = 0; w < inner.length; w++) if ((inner[w] & ~outer[w]) !== 0) return false;
  return true;
}

function compareLists(x: readonly number[], y: readonly number[]): number {
  for (let k = 0; k < Math.min(x.length, y.length); k++) if (x[k] !== y[k]) return x[k] - y[k];
  return x.length - y.length;
}

function letter(index: number): string {
  const name = String.fromCharCode(97 + (index % 26));
  return index < 26 ? name : `${name}${Math.floor(index / 26) + 1}`;
}
