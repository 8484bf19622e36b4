import { differenceInterval } from '../compare/rise-limits.ts';
import type { CoolerAtLevel, LevelTest } from './rise-at-levels.ts';
import { soundSentence } from './sound-sentence.ts';

/** Fewer decibels than this at a tie are not worth a sentence; 3 dB are heard, 1 dB hardly (common practice, no source). */
const WORTH_SAYING_dB = 3;
const MOST_SENTENCES = 6;

/**
 * What a chart at full speed hides, in sentences: pairs whose order changes once sound is held equal, and coolers that
 * keep up at full speed only by being louder. The most telling come first; pairs for which sound changes nothing are left
 * out.
 *
 * @param full    every cooler at full speed
 * @param target  the same coolers in the same order at the level asked for
 */
export function tradeOffSentences(
  full: readonly CoolerAtLevel[],
  target: readonly CoolerAtLevel[],
  sound_dBA: number,
  test: LevelTest,
): string[] {
  const found: { rank: number; apart_dB: number; sentence: string }[] = [];
  for (let i = 0; i < full.length; i++) {
    for (let j = i + 1; j < full.length; j++) {
      const atFull = differenceInterval(full[i].limits, full[j].limits, test, test.tail);
      const both = target[i].reached && target[j].reached;
      const equal = differenceInterval(target[i].limits, target[j].limits, test, test.tail);
      const apart_dB = Math.abs(full[i].sound_dBA - full[j].sound_dBA);
      const rank = telling(aheadOf(atFull), both ? aheadOf(equal) : undefined, both, apart_dB);
      if (rank === undefined) continue;
      const sentence = soundSentence({
        a: full[i].cooler,
        b: full[j].cooler,
        a_full_dBA: full[i].sound_dBA,
        b_full_dBA: full[j].sound_dBA,
        full: atFull,
        ...(both && { equal: { sound_dBA, ...equal } }),
      });
      found.push({ rank, apart_dB, sentence });
    }
  }
  found.sort((a, b) => a.rank - b.rank || b.apart_dB - a.apart_dB);
  return found.slice(0, MOST_SENTENCES).map(({ sentence }) => sentence);
}

/** −1: the first is cooler; 1: the second; 0: not told apart. */
function aheadOf({ low_K, high_K }: { low_K: number; high_K: number }): -1 | 0 | 1 {
  if (high_K < 0) return -1;
  return low_K > 0 ? 1 : 0;
}

/** Place among the sentences, 0 first; undefined where there is nothing to say. */
function telling(
  full: -1 | 0 | 1,
  equal: -1 | 0 | 1 | undefined,
  both: boolean,
  apart_dB: number,
): number | undefined {
  if (both && full !== 0 && equal === -full) return 0;
  if (both && full === 0 && equal !== 0 && apart_dB >= 1) return 1;
  if (full === 0 && apart_dB >= WORTH_SAYING_dB) return 2;
  if (both && full !== 0 && equal === 0) return 3;
  return undefined;
}
