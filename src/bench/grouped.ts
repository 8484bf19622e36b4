/**
 * Items by a key of each, keys and items in order of first appearance.
 *
 * @example groupedBy([1, 2, 3], (n) => n % 2) // Map { 1 → [1, 3], 0 → [2] }
 */
export function groupedBy<Item, Key>(items: Iterable<Item>, keyOf: (item: Item) => Key): Map<Key, Item[]> {
  const groups = new Map<Key, Item[]>();
  for (const item of items) {
    const key = keyOf(item);
    const group = groups.get(key);
    if (group) group.push(item);
    else groups.set(key, [item]);
  }
  return groups;
}

/**
 * Sets of indices that hang together by what they have in common, each in order.
 *
 * @example connected([[0, 1], [2], [1, 3]]) // [[0, 1, 3], [2]]
 */
export function connected(sets: Iterable<Iterable<number>>): number[][] {
  let groups: Set<number>[] = [];
  for (const set of sets) {
    const joined = new Set(set);
    for (const group of groups)
      if ([...group].some((k) => joined.has(k))) for (const k of group) joined.add(k);
    groups = [...groups.filter((group) => ![...group].some((k) => joined.has(k))), joined];
  }
  return groups.map((group) => [...group].sort((a, b) => a - b)).sort(([a], [b]) => a - b);
}
