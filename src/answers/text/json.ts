/** JSON has no way to write a number that is not finite: it becomes null. */
const piece = (value: unknown): string | undefined =>
  JSON.stringify(value, (_key, item: unknown) =>
    ArrayBuffer.isView(item) ? Array.from(item as Float64Array) : item,
  );

/** About how many characters go into a piece. */
const PIECE_LENGTH = 1 << 16;

/**
 * One JSON document with a line end, piece by piece: the members of the object's own lists one by one, so that an answer
 * about a million pairs need not fit in one string.
 *
 * Keys stay in the order of the object, which the library fixes.
 *
 * @example [...jsonPieces({ rise_K: Number.NaN })].join('') // '{"rise_K":null}\n'
 */
export function* jsonPieces(value: object): Generator<string> {
  let held = '';
  for (const part of parts(value)) {
    held += part;
    if (held.length < PIECE_LENGTH) continue;
    yield held;
    held = '';
  }
  yield `${held}\n`;
}

function* parts(value: object): Generator<string> {
  yield '{';
  let before = '';
  for (const [key, member] of Object.entries(value)) {
    if (Array.isArray(member)) {
      yield `${before}${JSON.stringify(key)}:[`;
      for (let i = 0; i < member.length; i++) yield `${i > 0 ? ',' : ''}${piece(member[i]) ?? 'null'}`;
      yield ']';
    } else {
      const text = piece(member);
      if (text === undefined) continue;
      yield `${before}${JSON.stringify(key)}:${text}`;
    }
    before = ',';
  }
  yield '}';
}

/** {@link jsonPieces} as one text. */
export function jsonText(value: object): string {
  return [...jsonPieces(value)].join('');
}
