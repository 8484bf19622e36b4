import { describe, expect, it } from 'vitest';
import { soundSentence } from './sound-sentence.ts';

const tie = { rise_K: 0.2, low_K: -0.9, high_K: 1.3 };

describe('soundSentence', () => {
  it('a tie at full speed that takes 7 dB more', () => {
    expect(soundSentence({ a: 'Heron', b: 'Plover', a_full_dBA: 46, b_full_dBA: 39, full: tie })).toBe(
      'Heron ties with Plover at full speed but needs 7 dB more to do so (about 1.6 times as loud, as a rule of thumb).',
    );
  });
  it('names the louder one whichever way round they come, and who is ahead at equal sound', () => {
    const equal = { sound_dBA: 35, rise_K: -3.1, low_K: -4, high_K: -2.2 };
    expect(soundSentence({ a: 'Plover', b: 'Heron', a_full_dBA: 39, b_full_dBA: 46, full: tie, equal })).toBe(
      'Heron ties with Plover at full speed but needs 7 dB more to do so (about 1.6 times as loud, as a rule of thumb); at 35 dBA each, Plover is 3.1 K ahead of Heron.',
    );
  });
  it('never calls an unresolved difference a lead', () => {
    const sentence = soundSentence({
      a: 'Heron',
      b: 'Plover',
      a_full_dBA: 39.3,
      b_full_dBA: 39,
      full: tie,
      equal: { sound_dBA: 35, ...tie },
    });
    expect(sentence).toBe(
      'Heron and Plover tie at full speed and are about as loud; at 35 dBA each, the two are not resolved.',
    );
  });
  it('a lead that is paid for, and one that is not', () => {
    const ahead = { rise_K: -2, low_K: -3, high_K: -1 };
    expect(soundSentence({ a: 'Heron', b: 'Plover', a_full_dBA: 44, b_full_dBA: 40, full: ahead })).toMatch(
      /^Heron is 2\.0 K ahead of Plover at full speed but needs 4 dB more/,
    );
    expect(soundSentence({ a: 'Heron', b: 'Plover', a_full_dBA: 40, b_full_dBA: 44, full: ahead })).toBe(
      'Heron is 2.0 K ahead of Plover at full speed and 4 dB quieter.',
    );
  });
});
