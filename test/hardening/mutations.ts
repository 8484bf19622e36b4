/**
 * Damage to files as it happens and as a bad will does it: bytes, cells, rows, numbers, brackets, sizes, and text that
 * would do something if anything ran it.
 */
import fc from 'fast-check';

export type Mutation = (bytes: Uint8Array) => Uint8Array;

const encoder = new TextEncoder();
const latin1 = new TextDecoder('latin1');

/** What would change the global object or the prototype of all objects if it were ever run or assigned. */
export const CANARY = '__evaluated_by_a_reader__';
const PAYLOADS = [
  `globalThis.${CANARY}=1`,
  `constructor.constructor("globalThis.${CANARY}=1")()`,
  `\${globalThis.${CANARY}=1}`,
  `import("data:text/javascript,globalThis.${CANARY}=1")`,
  `cos.constructor("globalThis.${CANARY}=1")()`,
  `f(x)=globalThis.${CANARY}`,
  `!!js/function "globalThis.${CANARY}=1"`,
  `=cmd|'/c calc'!A1`,
  '<img src=x onerror=alert(1)>',
  '__proto__',
  '__proto__: {polluted: 1}',
  'constructor: {prototype: {polluted: 1}}',
  'constructor',
  'prototype',
  'toString',
  'hasOwnProperty',
  '../../../etc/passwd',
  '/etc/passwd',
  'file:///etc/passwd',
  'C:\\Windows\\win.ini',
];
const NUMBERS = [
  '0',
  '-0',
  '-1',
  '1e308',
  '-1e308',
  '1e309',
  '5e-324',
  'NaN',
  'Infinity',
  '-Infinity',
  '0x1F',
  '1_000',
  '1,5',
  '99999999999999999999999',
  '.5',
  '5.',
  '1e',
  '١٢',
  '',
];
const SCRAPS = [
  '"',
  "'",
  ',',
  '\n',
  '\r',
  '\r\n',
  ';',
  '\t',
  '-',
  '- ',
  '=',
  ':',
  ': ',
  '{',
  '}',
  '[',
  ']',
  '(',
  ')',
  '^',
  '*',
  '/',
  '<',
  '&a ',
  '*a',
  '<<: ',
  '!!set ',
  '? ',
  '|\n',
  '>\n',
  '---\n',
  '...\n',
  '%YAML 9.9\n',
  '#',
  '\0',
  '\ufeff',
  '\u2028',
  '\u202e',
  'é',
  '👾',
  'İ',
  '\ud800',
  'if(',
  'min(',
  'pi',
  ...PAYLOADS,
];

// Without the library's leaning towards first and smallest values, so that damage is spread over the whole file.
const share = fc.noBias(fc.nat(999_999)).map((millionths) => millionths / 1_000_000);
const place = (fraction: number, length: number) => Math.floor(fraction * length);

function joined(...parts: readonly Uint8Array[]): Uint8Array {
  const out = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}

const bytesOf = (text: string) => Uint8Array.from(text, (character) => character.charCodeAt(0));
const asText = (change: (text: string) => string): Mutation => {
  return (bytes) => bytesOf(change(latin1.decode(bytes)));
};
const inLatin1 = (text: string) => latin1.decode(encoder.encode(text));

function replaceOne(pattern: RegExp, fraction: number, by: string): Mutation {
  return asText((text) => {
    const found = [...text.matchAll(pattern)];
    if (found.length === 0) return text;
    const hit = found[place(fraction, found.length)];
    return text.slice(0, hit.index) + inLatin1(by) + text.slice(hit.index + hit[0].length);
  });
}

/** One piece of damage. `donors` are files from which stretches are carried over. */
export function mutation(donors: readonly Uint8Array[]): fc.Arbitrary<Mutation> {
  const insert = (where: number, what: Uint8Array): Mutation => {
    return (bytes) => {
      const cut = place(where, bytes.length + 1);
      return joined(bytes.subarray(0, cut), what, bytes.subarray(cut));
    };
  };
  return fc.oneof(
    fc.tuple(share, fc.nat(255)).map(([where, byte]): Mutation => {
      return (bytes) => {
        const out = bytes.slice();
        if (out.length > 0) out[place(where, out.length)] = byte;
        return out;
      };
    }),
    fc.tuple(share, fc.constantFrom(...SCRAPS)).map(([where, scrap]) => insert(where, encoder.encode(scrap))),
    fc
      .tuple(share, fc.uint8Array({ minLength: 1, maxLength: 12 }))
      .map(([where, bytes]) => insert(where, bytes)),
    fc.tuple(share, share).map(([from, to]): Mutation => {
      return (bytes) => {
        const [a, b] = [place(from, bytes.length), place(to, bytes.length)].sort((x, y) => x - y);
        return joined(bytes.subarray(0, a), bytes.subarray(b));
      };
    }),
    share.map(
      (where): Mutation =>
        (bytes) =>
          bytes.slice(0, place(where, bytes.length)),
    ),
    // The same stretch again and again.
    fc.tuple(share, share, fc.nat({ max: 60 })).map(([from, to, times]): Mutation => {
      return (bytes) => {
        const [a, b] = [place(from, bytes.length), place(to, bytes.length)].sort((x, y) => x - y);
        const stretch = bytes.subarray(a, Math.min(b, a + 4000));
        return joined(
          bytes.subarray(0, b),
          ...Array.from({ length: times }, () => stretch),
          bytes.subarray(b),
        );
      };
    }),
    fc.tuple(share, share).map(([first, second]) =>
      asText((text) => {
        const rows = text.split('\n');
        const [a, b] = [place(first, rows.length), place(second, rows.length)];
        [rows[a], rows[b]] = [rows[b], rows[a]];
        return rows.join('\n');
      }),
    ),
    fc.tuple(fc.nat(24), fc.nat(24)).map(([a, b]) =>
      asText((text) => {
        const rows = text.split('\n').map((row) => row.split(','));
        for (const row of rows) if (a < row.length && b < row.length) [row[a], row[b]] = [row[b], row[a]];
        return rows.map((row) => row.join(',')).join('\n');
      }),
    ),
    fc
      .tuple(share, fc.constantFrom(...SCRAPS, ...NUMBERS))
      .map(([where, by]) => replaceOne(/[^,\n]+/g, where, by)),
    fc
      .tuple(share, fc.constantFrom(...NUMBERS))
      .map(([where, by]) => replaceOne(/-?\d+(\.\d+)?([eE][-+]?\d+)?/g, where, by)),
    fc
      .tuple(share, fc.constantFrom(...PAYLOADS, '', ' ', 'x'))
      .map(([where, by]) => replaceOne(/[A-Za-z_]\w*/g, where, by)),
    fc.tuple(fc.constantFrom(...donors), share, share, share).map(([donor, from, to, where]): Mutation => {
      const [a, b] = [place(from, donor.length), place(to, donor.length)].sort((x, y) => x - y);
      return insert(where, donor.subarray(a, Math.min(b, a + 2000)));
    }),
    // Depth and size: brackets, indentation, one endless word.
    fc
      .tuple(
        share,
        fc.constantFrom(
          '[',
          '{a: ',
          '(',
          '-',
          '- ',
          '^2',
          '? ',
          'if(x<1,1,',
          'min(1,',
          '9',
          'a',
          ' ',
          '"',
          ',',
          '\n',
          '{',
          '&',
        ),
        fc.noBias(fc.constantFrom(2, 10, 90, 101, 400, 5000)),
      )
      .map(([where, what, times]) => insert(where, encoder.encode(what.repeat(times)))),
  );
}

/** One piece of damage, or up to four one after the other. */
export function damage(donors: readonly Uint8Array[]): fc.Arbitrary<Mutation> {
  const one = mutation(donors);
  return fc
    .oneof(
      { weight: 2, arbitrary: fc.tuple(one) },
      { weight: 1, arbitrary: fc.array(one, { minLength: 2, maxLength: 4 }) },
    )
    .map(
      (list): Mutation =>
        (bytes) =>
          list.reduce((damaged, mutate) => mutate(damaged), bytes),
    );
}
