/** A value found at the first time of asking and kept. @example lazily(() => 6 * 7)() // 42 */
export function lazily<T>(find: () => T): () => T {
  let found: { readonly value: T } | undefined;
  return () => {
    found ??= { value: find() };
    return found.value;
  };
}
