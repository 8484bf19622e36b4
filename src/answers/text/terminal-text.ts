import { lazily } from '../../numerics/lazily.ts';

/**
 * Text that a terminal shows and does not obey. Names, notes and messages come from files that others may have made: an escape sequence
 * in one would move the cursor, ring the bell, or rewrite what stands above.
 */

// Control characters but for line end and tab, and what reverses the direction of writing.
const OBEYED = /[\u2028\u2029\u202a-\u202e\u2066-\u2069]|(?![\n\t])\p{Cc}/gu;

const escaped = (character: string): string => `\\u${character.charCodeAt(0).toString(16).padStart(4, '0')}`;

/**
 * A text with each character that a terminal would obey written out as JSON does, so that a JSON document means the same.
 *
 * @example asText('\u001b[2JHeron\n') // '\\u001b[2JHeron\n'
 */
export function asText(text: string): string {
  return text.replace(OBEYED, escaped);
}

/** {@link asText} of a message: its line ends become blanks. */
export function asTextOnOneLine(text: string): string {
  return asText(text.replace(/\s*[\r\n]+\s*/g, ' '));
}

/**
 * An answer with {@link asText} of every text in it, line ends written out too, before tables are laid out: a name takes one line and as
 * many columns as are seen.
 *
 * @example namesAsText({ cooler: 'A\nB' }) // { cooler: 'A\\u000aB' }
 */
export function namesAsText<T>(value: T): T {
  if (typeof value === 'string') return asText(value.replace(/[\n\t]/g, escaped)) as T;
  if (typeof value !== 'object' || value === null || ArrayBuffer.isView(value)) return value;
  if (Array.isArray(value)) {
    const changed = value.map(namesAsText);
    return (changed.some((item, i) => item !== value[i]) ? changed : value) as T;
  }
  const out: Record<string, unknown> = {};
  let isSame = true;
  for (const [key, { get, value: item }] of Object.entries(Object.getOwnPropertyDescriptors(value))) {
    const name = namesAsText(key);
    // What is found only when it is asked for stays so.
    if (get)
      Object.defineProperty(out, name, { enumerable: true, get: lazily(() => namesAsText(get.call(value))) });
    else out[name] = namesAsText(item);
    isSame &&= !get && out[name] === item && name === key;
  }
  return isSame ? value : (out as T);
}
