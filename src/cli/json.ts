/**
 * One JSON document with a line end.
 *
 * JSON has no way to write a number that is not finite: it becomes null. Keys stay in the order of the object, which
 * the library fixes.
 *
 * @example jsonText({ rise_K: Number.NaN }) // '{"rise_K":null}\n'
 */
export function jsonText(value: object): string {
  return `${JSON.stringify(value, (_key, item: unknown) => (ArrayBuffer.isView(item) ? Array.from(item as Float64Array) : item))}\n`;
}
