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
