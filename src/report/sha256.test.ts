import fc from 'fast-check';
import { expect, it } from 'vitest';
import { sha256Base64, sha256Hex } from './sha256.ts';

const base64 = (bytes: Iterable<number>): string => btoa(String.fromCharCode(...bytes));
const fromHex = (hex: string): string => base64(hex.match(/../g)!.map((pair) => Number.parseInt(pair, 16)));

// The one-block and two-block messages of the NIST example values for FIPS 180-4, from memory; the platform's digest below confirms them.
it.each([
  ['abc', 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad'],
  [
    'abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq',
    '248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1',
  ],
])('digests %s as the standard does', (text, hex) => {
  expect(sha256Base64(text)).toBe(fromHex(hex));
  expect(sha256Hex(new TextEncoder().encode(text))).toBe(hex);
});

it('agrees with the platform on any text', async () => {
  await fc.assert(
    fc.asyncProperty(fc.string({ unit: 'grapheme', maxLength: 300 }), async (text) => {
      const digest = await crypto.subtle.digest('SHA-256', new TextEncoder().encode(text));
      expect(sha256Base64(text)).toBe(base64(new Uint8Array(digest)));
    }),
  );
});
