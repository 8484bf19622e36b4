/**
 * SHA-256 of a text (FIPS 180-4), for the page's content security policy, which allows each script by its hash.
 *
 * The platform's own digest answers later rather than at once, and a report is a plain function; the scripts hashed
 * here are small.
 */

const firstBits = (root: number, value: number): number => {
  const part = value ** (1 / root);
  return Math.floor((part - Math.floor(part)) * 2 ** 32) | 0;
};

function primes(count: number): number[] {
  const found: number[] = [];
  for (let n = 2; found.length < count; n++) if (found.every((p) => n % p !== 0)) found.push(n);
  return found;
}

const PRIMES = primes(64);
/** The first 32 bits of the fractional parts of cube and square roots of the first primes (FIPS 180-4, 4.2.2, 5.3.3). */
const ROUND = PRIMES.map((p) => firstBits(3, p));
const START = PRIMES.slice(0, 8).map((p) => firstBits(2, p));

const turn = (x: number, n: number): number => (x >>> n) | (x << (32 - n));

/**
 * The digest of the UTF-8 bytes of a text, in base64, as a policy wants it.
 *
 * @example sha256Base64('abc') // 'ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0='
 */
export function sha256Base64(text: string): string {
  let bytes = '';
  for (const byte of sha256(new TextEncoder().encode(text))) bytes += String.fromCharCode(byte);
  return btoa(bytes);
}

/**
 * The digest of a file's bytes in hexadecimal digits, as evidence names it.
 *
 * @example sha256Hex(new TextEncoder().encode('abc')).slice(0, 8) // 'ba7816bf'
 */
export function sha256Hex(bytes: Uint8Array): string {
  return Array.from(sha256(bytes), (byte) => byte.toString(16).padStart(2, '0')).join('');
}

/** The 32 bytes of the digest. */
function sha256(message: Uint8Array): Uint8Array {
  const padded = new Uint8Array(Math.ceil((message.length + 9) / 64) * 64);
  padded.set(message);
  padded[message.length] = 0x80;
  const view = new DataView(padded.buffer);
  view.setUint32(padded.length - 8, Math.floor((message.length * 8) / 2 ** 32));
  view.setUint32(padded.length - 4, (message.length * 8) >>> 0);
  const hash = Int32Array.from(START);
  const w = new Int32Array(64);
  for (let offset = 0; offset < padded.length; offset += 64) {
    for (let t = 0; t < 16; t++) w[t] = view.getInt32(offset + 4 * t);
    for (let t = 16; t < 64; t++) {
      const s0 = turn(w[t - 15], 7) ^ turn(w[t - 15], 18) ^ (w[t - 15] >>> 3);
      const s1 = turn(w[t - 2], 17) ^ turn(w[t - 2], 19) ^ (w[t - 2] >>> 10);
      w[t] = w[t - 16] + s0 + w[t - 7] + s1;
    }
    let [a, b, c, d, e, f, g, h] = hash;
    for (let t = 0; t < 64; t++) {
      const s1 = turn(e, 6) ^ turn(e, 11) ^ turn(e, 25);
      const t1 = (h + s1 + ((e & f) ^ (~e & g)) + ROUND[t] + w[t]) | 0;
      const s0 = turn(a, 2) ^ turn(a, 13) ^ turn(a, 22);
      const t2 = (s0 + ((a & b) ^ (a & c) ^ (b & c))) | 0;
      [h, g, f, e, d, c, b, a] = [g, f, e, (d + t1) | 0, c, b, a, (t1 + t2) | 0];
    }
    [a, b, c, d, e, f, g, h].forEach((x, i) => {
      hash[i] += x;
    });
  }
  const digest = new DataView(new ArrayBuffer(32));
  hash.forEach((word, i) => {
    digest.setInt32(4 * i, word);
  });
  return new Uint8Array(digest.buffer);
}
