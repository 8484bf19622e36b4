/**
 * Compact letter display: coolers that share a letter are not resolved from each other.
 *
 * A letter stands for a largest group of coolers of which no two are resolved, and every such group has one. Insert and
 * absorb finds them pair by pair: it splits each letter that holds a resolved pair and drops what lies within another.
 * Here the same groups are found cooler by cooler. With N those earlier coolers that the next one is tied with, a group G
 * that lies within N takes the next one in; any other stays as it is and offers what it has in N, together with the next
 * one, as a new group; of these offers those are taken that lie within no other. In the order of their rises a cooler is
 * tied with its neighbours mostly, the offers lie one within the other and few are taken: the time is that of looking at
 * every pair once, where insert and absorb looks at every letter for every pair.
 *
 * Source: Piepho (2004), Journal of Computational and Graphical Statistics 13, 456.
 *
 * @param count  number of items, numbered in the order in which letters are to be given (best first)
 * @param resolved  whether items i and j are resolved, i < j
 * @returns letters of each item, in alphabetical order: a, b, …, z, a2, b2, …
 * @example letterDisplay(3, (i, j) => Math.abs(i - j) > 1) // [['a'], ['a', 'b'], ['b']]
 */
export function letterDisplay(count: number, resolved: (i: number, j: number) => boolean): string[][] {
  const letters: string[][] = Array.from({ length: count }, () => []);
  const lists = tiedGroups(count, resolved).map((group) => listOf(group, count));
  lists.sort(compareLists).forEach((list, g) => {
    const name = letter(g);
    for (const item of list) letters[item].push(name);
  });
  return letters;
}

/** Members as bits, 32 to a word: a bench of hundreds of coolers makes hundreds of groups. */
type Members = Uint32Array;

/** Every group of items of which no two are resolved and to which no further item could be added. */
function tiedGroups(count: number, resolved: (i: number, j: number) => boolean): Members[] {
  let groups: Members[] = [];
  for (let next = 0; next < count; next++) {
    const tied = none(count);
    for (let i = 0; i < next; i++) if (!resolved(i, next)) put(tied, i);
    const kept: Members[] = [];
    const offers: Offer[] = [];
    for (const group of groups) {
      const offer = common(group, tied);
      if (!isWithin(group, tied)) kept.push(group);
      if (offer.size > 0) offers.push(offer);
    }
    // A larger group lies within no smaller one, and of equal ones the first is taken.
    offers.sort((x, y) => y.size - x.size);
    const taken: Members[] = [];
    for (const { members } of offers) {
      if (!taken.some((other) => isWithin(members, other))) taken.push(members);
    }
    if (taken.length === 0) taken.push(none(count));
    for (const members of taken) put(members, next);
    groups = [...kept, ...taken];
  }
  return groups;
}

/** What a group has in common with those that the next item is tied with. */
interface Offer {
  readonly members: Members;
  readonly size: number;
}

/** Members of a group that a cooler ties with. */
function common(group: Members, tied: Members): Offer {
  const members = new Uint32Array(group.length);
  let size = 0;
  for (let w = 0; w < group.length; w++) {
    members[w] = group[w] & tied[w];
    size += ones(members[w]);
  }
  return { members, size };
}

/** Number of ones in a word of 32 bits: sums of neighbouring bits, then of pairs, then of fours. */
function ones(word: number): number {
  let sums = word - ((word >>> 1) & 0x55555555);
  sums = (sums & 0x33333333) + ((sums >>> 2) & 0x33333333);
  return Math.imul((sums + (sums >>> 4)) & 0x0f0f0f0f, 0x01010101) >>> 24;
}

const none = (count: number): Members => new Uint32Array(Math.ceil(count / 32));

const has = (members: Members, i: number): boolean => ((members[i >> 5] >>> (i & 31)) & 1) === 1;

function put(members: Members, i: number): void {
  members[i >> 5] |= 1 << (i & 31);
}

/** Whether all members of one set are in the other. */
function isWithin(inner: Members, outer: Members): boolean {
  for (let w = 0; w < inner.length; w++) if ((inner[w] & ~outer[w]) !== 0) return false;
  return true;
}

/** Members as numbers. */
function listOf(members: Members, count: number): number[] {
  const list: number[] = [];
  for (let i = 0; i < count; i++) if (has(members, i)) list.push(i);
  return list;
}

/** Order of two lists, entry by entry. */
function compareLists(x: readonly number[], y: readonly number[]): number {
  for (let k = 0; k < Math.min(x.length, y.length); k++) if (x[k] !== y[k]) return x[k] - y[k];
  return x.length - y.length;
}

/** a to z, then a2, b2 and so on. */
function letter(index: number): string {
  const name = String.fromCharCode(97 + (index % 26));
  return index < 26 ? name : `${name}${Math.floor(index / 26) + 1}`;
}
