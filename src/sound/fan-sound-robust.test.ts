import fc from 'fast-check';
import { expect, it } from 'vitest';
import { fitFanSound, soundAtSpeed } from './fan-sound.ts';
import { speedAtLevel } from './speed-at-level.ts';

const reading = fc.record({
  fan_rpm: fc.integer({ min: 200, max: 5000 }),
  sound_dBA: fc.integer({ min: 240, max: 600 }).map((tenths) => tenths / 10),
  sample: fc.constantFrom('1', '2'),
});

it('any readings at all, even none that rise with speed, give a finite answer with its place in its interval', () => {
  fc.assert(
    fc.property(
      fc.array(reading, { minLength: 1, maxLength: 6 }),
      fc.integer({ min: 261, max: 500 }),
      (readings, tenths) => {
        const list = readings.map((r, i) => ({ ...r, file: 'noise.csv' as const, line: i + 2 }));
        const law = fitFanSound(new Map([['Heron', list]]), { background_dBA: 26 }).laws.get('Heron')!;
        expect(soundAtSpeed(law, 1000).u_own_dB).toBeGreaterThan(0);
        const answer = speedAtLevel(law, tenths / 10, { fan_min_rpm: 300, fan_max_rpm: 4000 });
        expect(answer.fan_rpm).toBeGreaterThanOrEqual(300);
        expect(answer.fan_rpm).toBeLessThanOrEqual(4000);
        expect(answer.low_rpm).toBeLessThanOrEqual(answer.fan_rpm);
        expect(answer.high_rpm).toBeGreaterThanOrEqual(answer.fan_rpm);
        expect(Number.isFinite(answer.u_rpm) && Number.isFinite(answer.rpm_per_dB)).toBe(true);
      },
    ),
    { numRuns: 12, seed: 5 },
  );
});
it('a fan never heard over the background is fitted, and said to rest on what fans do', () => {
  const list = [400, 600, 800].map((fan_rpm, i) => ({
    fan_rpm,
    sound_dBA: 26,
    sample: '1',
    file: 'noise.csv' as const,
    line: i + 2,
  }));
  const law = fitFanSound(new Map([['Heron', list]]), { background_dBA: 26 }).laws.get('Heron')!;
  expect(law.notes.join()).toMatch(/within 3 dB of the background/);
  expect(soundAtSpeed(law, 800).own_dBA).toBeLessThan(22);
});
