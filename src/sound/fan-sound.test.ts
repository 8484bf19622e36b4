import { describe, expect, it } from 'vitest';
import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { collectNoise, type SoundReading } from './collect-noise.ts';
import { meteredLevel } from './energy-sum.ts';
import { type FanSoundLaw, fanSoundOfBench, fitFanSound, soundAtSpeed } from './fan-sound.ts';
import { speedAtLevel } from './speed-at-level.ts';

const BACKGROUND = 26;

/** Readings on the exact law, rounded as a meter shows them, or not. */
function readingsOn(
  a: number,
  b: number,
  speeds: readonly number[],
  change: (fan_rpm: number, index: number) => number = () => 0,
  resolution = 0,
): SoundReading[] {
  return speeds.map((fan_rpm, index) => {
    const exact = meteredLevel(a + b * Math.log10(fan_rpm) + change(fan_rpm, index), BACKGROUND);
    return {
      fan_rpm,
      sound_dBA: resolution > 0 ? Math.round(exact / resolution) * resolution : exact,
      sample: '1',
      file: 'noise.csv',
      line: index + 2,
    };
  });
}

const SPEEDS = [500, 700, 900, 1100, 1300, 1500, 1800];
const lawOf = (readings: SoundReading[], background_dBA: number | undefined = BACKGROUND): FanSoundLaw =>
  fitFanSound(
    new Map([['Heron', readings]]),
    background_dBA === undefined ? {} : { background_dBA },
  ).laws.get('Heron')!;

describe('readings that contradict', () => {
  const told = (more: Partial<SoundReading>) => {
    const good = readingsOn(-117, 50, SPEEDS, () => 0, 0.1);
    const readings = [...good, { ...good[6], line: 9, ...more }];
    return fitFanSound(new Map([['Heron', readings]]), { background_dBA: BACKGROUND }).warnings.join();
  };

  it('the background, or each other at one speed, are told with their place', () => {
    expect(told({ sound_dBA: 22 })).toContain(
      'noise.csv:9: Heron at 1800 rpm reads 22 dBA, below the background of 26 dBA',
    );
    expect(told({ sound_dBA: 58 })).toMatch(
      /noise.csv:9: Heron at 1800 rpm reads 58 dBA here and 4\d[.\d]* dBA in noise.csv:8/,
    );
  });

  it('nothing of a reading that the meter may have given', () => {
    expect(told({})).not.toContain('noise.csv');
    expect(told({ fan_rpm: 300, sound_dBA: 25.5 })).not.toContain('noise.csv');
  });
});

describe('fitFanSound', () => {
  const exact = lawOf(readingsOn(-117, 50, SPEEDS));

  it('finds the law behind readings that hold the background', () => {
    expect(exact.b_dB_per_decade).toBeCloseTo(50, 0);
    expect(soundAtSpeed(exact, 1000).own_dBA).toBeCloseTo(33, 1);
    expect(soundAtSpeed(exact, 500).own_dBA).toBeCloseTo(17.95, 0);
    expect(soundAtSpeed(exact, 1000).metered_dBA).toBeCloseTo(meteredLevel(33, 26), 1);
  });
  it('moves b away from the prior where the readings say so', () => {
    const flat = lawOf(readingsOn(-87, 40, SPEEDS));
    expect(flat.b_dB_per_decade).toBeGreaterThan(39);
    expect(flat.b_dB_per_decade).toBeLessThan(41.5);
  });
  it('without the energy sum the law comes out too flat, and a warning says so', () => {
    const readings = readingsOn(-117, 50, SPEEDS);
    const fit = fitFanSound(new Map([['Heron', readings]]));
    expect(fit.warnings.join()).toMatch(/background_dBA/);
    expect(fit.laws.get('Heron')!.b_dB_per_decade).toBeLessThan(46);
  });
  it('a reading near the background still tells something: less than a loud one, not nothing', () => {
    const loud = readingsOn(-117, 50, [1800]);
    const nearToo = [...loud, ...readingsOn(-117, 50, [700])];
    const farToo = [...loud, ...readingsOn(-117, 50, [1200])];
    const u = (readings: SoundReading[]) => soundAtSpeed(lawOf(readings), 700).u_own_dB;
    expect(u(nearToo)).toBeLessThan(0.8 * u(loud));
    const slopeSd = (readings: SoundReading[]) => Math.sqrt(lawOf(readings).variance.bb);
    expect(slopeSd(farToo)).toBeLessThan(slopeSd(loud));
  });
  it('takes readings below the background', () => {
    const readings = readingsOn(-117, 50, SPEEDS);
    readings.push({ fan_rpm: 300, sound_dBA: 25.8, sample: '1', file: 'noise.csv', line: 9 });
    expect(lawOf(readings).b_dB_per_decade).toBeCloseTo(50, 0);
  });
  it('a lone reading leans on the prior and says so', () => {
    const lone = lawOf(readingsOn(-117, 50, [1500]));
    expect(lone.b_dB_per_decade).toBeCloseTo(50, 1);
    expect(Math.sqrt(lone.variance.bb)).toBeGreaterThan(4.9);
    expect(lone.notes.join()).toMatch(/metered at one speed/);
  });
  it('repeats shrink the reading scatter, never the bump', () => {
    const bump = (_: number, index: number) => (index % 2 === 0 ? 1 : -1);
    const once = readingsOn(-117, 50, SPEEDS, bump);
    const tenfold = Array.from({ length: 10 }, () => once).flat();
    const between = (readings: SoundReading[]) => soundAtSpeed(lawOf(readings), 1000).u_own_dB;
    expect(between(tenfold)).toBeGreaterThan(0.4);
    expect(between(tenfold)).toBeGreaterThan(0.6 * between(once));
  });
  it('tells reading scatter from bumps where readings repeat', () => {
    const noisy = readingsOn(
      -110,
      50,
      SPEEDS.flatMap((n) => [n, n, n, n]),
      (_, i) => [0.7, -0.7, 0.6, -0.6][i % 4],
    );
    const { scatter } = fitFanSound(new Map([['Heron', noisy]]), { background_dBA: BACKGROUND });
    expect(scatter!.reading_dB.value).toBeGreaterThan(0.4);
    expect(scatter!.bump_dB.value).toBeLessThan(0.3);
    expect(scatter!.sample_dB).toBeUndefined();
  });
  it('keeps the shift of a specimen apart', () => {
    const second = readingsOn(-117, 50, SPEEDS, () => 1.5).map((r) => ({ ...r, sample: '2' }));
    const fit = fitFanSound(new Map([['Heron', [...readingsOn(-117, 50, SPEEDS), ...second]]]), {
      background_dBA: BACKGROUND,
    });
    expect(fit.scatter!.sample_dB!.value).toBeGreaterThan(0.5);
    const at = soundAtSpeed(fit.laws.get('Heron')!, 1500);
    expect(at.own_dBA).toBeCloseTo(-117 + 50 * Math.log10(1500) + 0.75, 0);
    expect(at.u_own_dB).toBeGreaterThan(0.4);
  });
  it('takes a specimen’s scatter that is stated where one was metered', () => {
    const u = (sample_dB?: number) => {
      const options = { background_dBA: BACKGROUND, ...(sample_dB !== undefined && { sample_dB }) };
      const fit = fitFanSound(new Map([['Heron', readingsOn(-117, 50, SPEEDS)]]), options);
      expect(fit.warnings.join().includes('sample_dB')).toBe(sample_dB === undefined);
      return soundAtSpeed(fit.laws.get('Heron')!, 1200).u_own_dB;
    };
    expect(Math.sqrt(u(0.8) ** 2 - u() ** 2)).toBeCloseTo(0.8, 1);
  });
  it('answers for a cooler without readings with the reason', () => {
    const fit = fitFanSound(new Map([['Silent', []]]), { background_dBA: BACKGROUND });
    expect(fit.laws.size).toBe(0);
    expect(fit.unheard.get('Silent')).toMatch(/no sound reading/);
  });
  it('the variance of a and b gives back the variance of the level', () => {
    const { variance, a_dBA, b_dB_per_decade } = exact;
    const x = Math.log10(1200);
    const v = variance.aa + 2 * x * variance.ab + x * x * variance.bb;
    expect(v).toBeGreaterThan(0);
    expect(v).toBeLessThan(1);
    expect(a_dBA + b_dB_per_decade * x).toBeCloseTo(-117 + 50 * x, 1);
  });
  it('refuses a speed that is not positive, naming its line', () => {
    const bad = readingsOn(-117, 50, [500]).map((r) => ({ ...r, fan_rpm: 0 }));
    expect(() => lawOf(bad)).toThrow(/noise\.csv:2/);
  });
});

describe('sessions of the meter', () => {
  /** Heron in spring, Plover in autumn, and Wren in both where it ties them; autumn's meter reads 1.5 dB high. */
  const read = (tied: boolean, sessions = true) => {
    const at = (level: number, session: string): SoundReading[] =>
      readingsOn(level - 150, 50, SPEEDS, undefined, 0.1).map((r) => ({
        ...r,
        sound_dBA: r.sound_dBA + (session === 'autumn' ? 1.5 : 0),
        ...(sessions && { session }),
      }));
    const both = [...at(34, 'spring'), ...at(34, 'autumn')];
    return fitFanSound(
      new Map([
        ['Heron', at(33, 'spring')],
        ['Plover', at(33, 'autumn')],
        ...(tied ? ([['Wren', both]] as const) : []),
      ]),
      { background_dBA: BACKGROUND },
    );
  };
  const speed = (fit: ReturnType<typeof read>, cooler: string) => speedAtLevel(fit.laws.get(cooler)!, 36);
  /** ln of the speeds of Heron over Plover, and its standard deviation with what the two have in common cancelled. */
  const ratio = (fit: ReturnType<typeof read>) => {
    const [a, b] = [speed(fit, 'Heron'), speed(fit, 'Plover')];
    const own = [a, b].map(
      ({ withoutMeter, multiple }) =>
        Math.log(withoutMeter!.high_rpm / withoutMeter!.low_rpm) / (2 * multiple),
    );
    const meter = Math.hypot(
      ...a.withoutMeter!.meter_ln.map((slope, k) => slope - b.withoutMeter!.meter_ln[k]),
    );
    return { value: Math.log(a.fan_rpm / b.fan_rpm), u: Math.hypot(...own, meter) };
  };

  it('are learnt where a cooler ties them, taken off, and no longer told', () => {
    const fit = read(true);
    const { meter } = fit.laws.get('Heron')!;
    expect(meter!.offset_dB[1] - meter!.offset_dB[0]).toBeCloseTo(1.5, 0);
    expect(fit.scatter!.session_dB!.value).toBeGreaterThan(0.5);
    const { value, u } = ratio(fit);
    expect(Math.abs(value)).toBeLessThan(0.01);
    expect(u).toBeLessThan(0.02);
    expect(fit.warnings.join()).not.toMatch(/calibrations/);
  });
  it('stay as far apart as two calibrations where none does, and are told', () => {
    const fit = read(false);
    const { value, u } = ratio(fit);
    expect(value / u).toBeLessThan(1.5);
    // √2 dB at 50 dB a decade, stretched by what is not known of the scatter itself.
    expect(u).toBeGreaterThan((Math.SQRT2 / 50) * Math.LN10);
    expect(u).toBeLessThan((2 / 50) * Math.LN10);
    expect(speed(fit, 'Heron').u_rpm).toBeGreaterThan(0.03 * speed(fit, 'Heron').fan_rpm);
    expect(fit.warnings.join()).toMatch(
      /no cooler was metered in two of these sessions: spring \| autumn; sound levels across them .* 1\.4 dB/,
    );
  });
  it('are nothing to coolers of one session', () => {
    const fit = read(true);
    const [a, b] = [speed(fit, 'Heron'), speed(fit, 'Wren')];
    const apart = Math.hypot(
      ...a.withoutMeter!.meter_ln.map((slope, k) => slope - b.withoutMeter!.meter_ln[k]),
    );
    expect(apart).toBeLessThan(0.01);
    expect(speed(read(true, false), 'Heron').withoutMeter).toBeUndefined();
  });
});

describe('speedAtLevel', () => {
  const law = lawOf(readingsOn(-117, 50, SPEEDS, undefined, 0.1));
  const trueSpeed = (own: number) => 10 ** ((own + 117) / 50);
  const ownOf = (metered: number) => 10 * Math.log10(10 ** (metered / 10) - 10 ** (BACKGROUND / 10));

  it('inverts the metered level by default', () => {
    const answer = speedAtLevel(law, 35, { fan_min_rpm: 400, fan_max_rpm: 1800 });
    expect(answer.limitedBy).toBe('none');
    expect(Math.abs(answer.fan_rpm / trueSpeed(ownOf(35)) - 1)).toBeLessThan(0.01);
    expect(Math.abs(answer.fan_rpm - 1067)).toBeLessThan(8);
    expect(answer.low_rpm).toBeLessThan(trueSpeed(ownOf(35)));
    expect(answer.high_rpm).toBeGreaterThan(trueSpeed(ownOf(35)));
    expect(answer.sound_dBA).toBeCloseTo(35, 3);
    expect(answer.u_rpm).toBeGreaterThan(0);
    expect(answer.systematic_dB).toBe(1);
  });
  it('or the own level', () => {
    const answer = speedAtLevel(law, 35, { target: 'own' });
    expect(Math.abs(answer.fan_rpm / trueSpeed(35) - 1)).toBeLessThan(0.01);
    expect(answer.own_dBA).toBeCloseTo(35, 3);
    expect(answer.fan_rpm).toBeGreaterThan(speedAtLevel(law, 35).fan_rpm);
  });
  it('gives the change of speed with the target as a finite difference finds it', () => {
    for (const target of [30, 35, 40]) {
      const slope = speedAtLevel(law, target + 0.2).fan_rpm - speedAtLevel(law, target - 0.2).fan_rpm;
      expect(speedAtLevel(law, target).rpm_per_dB / (slope / 0.4)).toBeCloseTo(1, 1);
    }
  });
  it('warns within 6 dB of the background and refuses at it', () => {
    expect(speedAtLevel(law, 31.9).notes.join()).toMatch(/upper bound/);
    expect(speedAtLevel(law, 32.1).notes.join()).not.toMatch(/upper bound/);
    expect(() => speedAtLevel(law, 26)).toThrow(BenchError);
    expect(() => speedAtLevel(law, 20)).toThrow(/at or below the background of 26 dBA/);
    expect(() => speedAtLevel(law, Number.NaN)).toThrow(BenchError);
  });
  it('puts a cooler that cannot be that quiet at its least stable speed', () => {
    const answer = speedAtLevel(law, 29, { fan_min_rpm: 1000, fan_max_rpm: 1800 });
    expect(answer).toMatchObject({ fan_rpm: 1000, u_rpm: 0, limitedBy: 'least-stable-speed' });
    expect(answer.sound_dBA).toBeCloseTo(meteredLevel(33, 26), 1);
    expect(answer.notes.join()).toMatch(/cannot be as quiet as 29 dBA.*1000 rpm, 33\.8 dBA/);
  });
  it('and one that cannot be that loud at its greatest', () => {
    const answer = speedAtLevel(law, 55, { fan_max_rpm: 1800 });
    expect(answer).toMatchObject({ fan_rpm: 1800, high_rpm: 1800, limitedBy: 'greatest-speed' });
    expect(answer.rpm_per_dB).toBe(0);
  });
  it('says when the answer lies outside the speeds metered', () => {
    expect(speedAtLevel(law, 50).notes.join()).toMatch(/outside the speeds/);
  });
});

describe('collectNoise', () => {
  const run = { source: 'heater', power_W: 100, source_C: 60, ambient_C: 22, extra: {} };
  const bench = {
    coolers: [{ cooler: 'Heron' }, { cooler: 'Plover' }],
    noise: [
      { cooler: 'Heron', fan_rpm: 1200, sound_dBA: 33, line: 2 },
      { cooler: 'Heron', fan_rpm: 0, sound_dBA: 26, line: 3 },
    ],
    runs: [
      {
        ...run,
        run: 'r1',
        cooler: 'Heron',
        sample: '2',
        fan_rpm: 1500,
        sound_dBA: 38,
        line: 2,
        pump_rpm: 1500,
      },
      { ...run, run: 'r2', cooler: 'Heron', sample: '2', fan_rpm: 1500, line: 3 },
      {
        ...run,
        run: 'r3',
        cooler: 'Heron',
        sample: '2',
        fan_rpm: 1500,
        sound_dBA: 38.1,
        line: 4,
        pump_rpm: 3000,
      },
    ],
    instruments: { sound_level: { systematic_dB: 0.7, background_dBA: 26 } },
  } as unknown as Bench;

  it('joins noise.csv and the runs that carry a level, for the fan at the greatest pump speed', () => {
    const { readings, withPump, warnings } = collectNoise(bench);
    expect(readings.get('Heron')).toHaveLength(2);
    expect(readings.get('Heron')![1]).toEqual({
      fan_rpm: 1500,
      sound_dBA: 38.1,
      sample: '2',
      session: '',
      pump_rpm: 3000,
      file: 'runs.csv',
      line: 4,
    });
    expect(withPump.get('Heron')!.map((r) => r.pump_rpm)).toEqual([1500, 3000]);
    expect(readings.get('Plover')).toEqual([]);
    expect(warnings).toHaveLength(1);
    expect(warnings[0]).toMatch(/^noise\.csv:3: .*0 rpm/);
  });
  it('takes specimen and session of noise.csv, and says where that names no session', () => {
    const sessions = bench.runs.map((one, k) => ({ ...one, session: k === 0 ? 'spring' : 'autumn' }));
    const named = bench.noise.map((one) => ({ ...one, sample: '3', session: 'spring' }));
    expect(collectNoise({ ...bench, noise: named, runs: sessions }).readings.get('Heron')![0]).toMatchObject({
      sample: '3',
      session: 'spring',
    });
    expect(collectNoise({ ...bench, runs: sessions }).warnings.join()).toMatch(
      /noise\.csv:1:1: it has no column session/,
    );
  });
  it('and goes on to the laws', () => {
    const fit = fanSoundOfBench(bench);
    expect(fit.laws.get('Heron')!.systematic_dB).toBe(0.7);
    expect(fit.laws.get('Heron')!.background_dBA).toBe(26);
    expect([...fit.unheard.keys()]).toEqual(['Plover']);
  });
});
