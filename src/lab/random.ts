import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';

/**
 * A stream of random numbers that can be split by name.
 *
 * Every part of the virtual bench draws from its own named stream (`random.split('cooler').split('Siskin')`), so adding a
 * cooler, a sample or a run leaves all other draws as they were. Nothing here reads a clock.
 */
export interface Random {
  /** Uniform on [0, 1), 53 bits. */
  uniform(): number;
  /** Uniform on [low, high). */
  between(low: number, high: number): number;
  /** Uniform integer, both ends included. */
  integer(low: number, high: number): number;
  /** Normal with the given mean (0) and standard deviation (1). */
  normal(mean?: number, standardDeviation?: number): number;
  /** An independent stream that depends on this stream's seed and the key only, not on what was drawn before. */
  split(key: string): Random;
}

/** FNV-1a over the key, then the murmur3 finaliser, so that near keys give far seeds. Public-domain hash constants. */
function mix(seed: number, key: string): number {
  let hash = (seed ^ 0x811c9dc5) >>> 0;
  for (let i = 0; i < key.length; i++) {
    hash ^= key.charCodeAt(i);
    hash = Math.imul(hash, 0x01000193);
  }
  hash ^= hash >>> 16;
  hash = Math.imul(hash, 0x85ebca6b);
  hash ^= hash >>> 13;
  hash = Math.imul(hash, 0xc2b2ae35);
  hash ^= hash >>> 16;
  return hash | 0;
}

/**
 * A reproducible stream: the same seed gives the same numbers.
 *
 * The normal deviates are Box and Muller's (1958), whose log, sqrt and cosine may differ in the last bit between engines.
 *
 * @param seed  any integer; only its low 32 bits count
 * @example makeRandom(1).uniform() === makeRandom(1).uniform() // true
 */
export function makeRandom(seed: number): Random {
  const generator = xoroshiro128plus(mix(seed | 0, 'stream'));
  let spare: number | undefined;
  const uniform = () => {
    const high = generator.next() >>> 6;
    const low = generator.next() >>> 5;
    return (high * 0x8000000 + low) / 0x20000000000000;
  };
  return {
    uniform,
    between: (low, high) => low + (high - low) * uniform(),
    integer: (low, high) => low + Math.floor((high - low + 1) * uniform()),
    normal(mean = 0, standardDeviation = 1) {
      if (spare !== undefined) {
        const z = spare;
        spare = undefined;
        return mean + standardDeviation * z;
      }
      const radius = Math.sqrt(-2 * Math.log(1 - uniform()));
      const angle = 2 * Math.PI * uniform();
      spare = radius * Math.sin(angle);
      return mean + standardDeviation * radius * Math.cos(angle);
    },
    split: (key) => makeRandom(mix(seed | 0, `/${key}`)),
  };
}
