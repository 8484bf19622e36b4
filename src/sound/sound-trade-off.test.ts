import { beforeAll, describe, expect, it } from 'vitest';
import { compare } from '../answers/compare.ts';
import { predict } from '../answers/predict.ts';
import { soundTables } from '../answers/text/sound-tables.ts';
import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { readBench } from '../bench/read-bench.ts';
import { posteriorFor } from '../fit/posterior-for.ts';
import type { CoolerSpec } from '../lab/cooler-spec.ts';
import { labData } from '../lab/lab-data.generated.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import type { Conditions } from '../predict/conditions.ts';
import { soundTradeOff } from './sound-trade-off.ts';

const tradeOffOf = (bench: Bench, conditions: Conditions = {}) =>
  soundTradeOff(posteriorFor(bench, conditions.source), conditions);

// Three coolers of one make: Heron and Plover are alike in all but sound, in which Heron's fan is 7 dB louder; Godwit is
// Plover with half its fins, so beaten at every level.
const base = labData.coolers.find((spec) => spec.cooler === 'Siskin') as CoolerSpec;
const coolers: CoolerSpec[] = [
  { ...base, cooler: 'Heron', sound: { ...base.sound, full_dBA: 46, tone_dB: 0 } },
  { ...base, cooler: 'Plover', sound: { ...base.sound, full_dBA: 39, tone_dB: 0 } },
  {
    ...base,
    cooler: 'Godwit',
    fins: { ...base.fins, count: Math.round(base.fins.count / 2) },
    sound: { ...base.sound, full_dBA: 42, tone_dB: 0 },
  },
];
const made = makeVirtualBench({
  seed: 4,
  coolers,
  samples: 4,
  mounts: 2,
  loads_W: [100, 200],
  speeds: [0.3, 0.55, 1],
  scatter: { mount_K_per_W: 0.001, sample_K_per_W: 0.0005, reading_K: 0.05 },
  instruments: { sound_systematic_dB: 0 },
});

let bench: Bench;
beforeAll(() => {
  bench = readBench(made.files);
});

describe('soundTradeOff', () => {
  it('says in words that a cooler ties at full speed but needs 7 dB more to do so', () => {
    const { sentences, coolers: at } = tradeOffOf(bench, { power_W: [200], sound_dBA: 35 });
    const said = sentences.find((s) => s.includes('Heron') && s.includes('Plover'));
    expect(said).toMatch(/^Heron ties with Plover at full speed but needs 7 dB more to do so/);
    expect(said).toMatch(/at 35 dBA each, Plover is \d\.\d K ahead of Heron\.$/);
    expect(at.map((c) => c.limited_by)).toEqual(['none', 'none', 'none']);
    for (const { cooler, low_rpm, high_rpm } of at) {
      expect(made.truth.metered_dBA(cooler, low_rpm)).toBeLessThan(35.05);
      expect(made.truth.metered_dBA(cooler, high_rpm)).toBeGreaterThan(34.95);
    }
  });
  it('follows the true rise against sound, and knows who is beaten', () => {
    const { rise_against_sound, undominated, undominated_at_full_speed } = tradeOffOf(bench, {
      power_W: [200],
      sound_dBA: 35,
    });
    for (const { cooler, points } of rise_against_sound) {
      expect(points.length).toBeGreaterThan(8);
      for (let i = 1; i < points.length; i++) expect(points[i].rise_K).toBeLessThan(points[i - 1].rise_K);
      const inside = points.filter((p) => !p.extrapolated);
      const held = inside.filter((p) => {
        const truly = made.truth.rise_K(cooler, 200, p.fan_rpm);
        return truly > p.low_K && truly < p.high_K;
      });
      expect(held.length / inside.length).toBeGreaterThan(0.8);
      expect(points.at(-1)?.fan_rpm).toBe(made.truth.fan_max_rpm(cooler));
    }
    const plover = undominated.find((u) => u.cooler === 'Plover');
    expect(plover?.to_dBA).toBeCloseTo(39, 0);
    expect(undominated.some((u) => u.cooler === 'Godwit' && u.to_dBA > 33)).toBe(false);
    expect(undominated_at_full_speed).toContain('Plover');
    expect(undominated_at_full_speed).not.toContain('Godwit');
  });
  it('prices 5 dB with an interval that holds the truth and knows that the rises hang together', () => {
    const { bought, coolers: at } = tradeOffOf(bench, { power_W: [200], sound_dBA: 33 });
    const louder = tradeOffOf(bench, { power_W: [200], sound_dBA: 38 }).coolers;
    expect(bought).toHaveLength(3);
    for (const b of bought) {
      const speedFor = (level: number) => {
        const max = made.truth.fan_max_rpm(b.cooler);
        for (let n = max; ; n *= 0.999) if (made.truth.metered_dBA(b.cooler, n) <= level) return n;
      };
      const truly =
        made.truth.rise_K(b.cooler, 200, speedFor(33)) - made.truth.rise_K(b.cooler, 200, speedFor(38));
      expect(b.spent_dB).toBeCloseTo(5, 1);
      expect(truly).toBeGreaterThan(b.low_K);
      expect(truly).toBeLessThan(b.high_K);
      // Two rises that knew nothing of each other would differ by the root of the sum of squares.
      const [w33, w38] = [at, louder].map((one) => {
        const { high_K, low_K } = one.find((c) => c.cooler === b.cooler)!;
        return high_K - low_K;
      });
      expect(b.high_K - b.low_K).toBeLessThan(0.9 * Math.hypot(w33, w38));
    }
  });
  it('shows a cooler that cannot be that loud at its greatest speed, and leaves it out of "each"', () => {
    const { coolers: at, sentences, bought } = tradeOffOf(bench, { power_W: [200], sound_dBA: 43 });
    const plover = at.find((c) => c.cooler === 'Plover')!;
    expect(plover).toMatchObject({ limited_by: 'greatest-speed', fan_rpm: base.fan.max_rpm });
    expect(plover.notes.join()).toMatch(/cannot be as loud as 43 dBA/);
    expect(sentences.find((s) => s.includes('Plover') && s.includes('Heron'))).not.toMatch(/each/);
    expect(bought.map((b) => b.cooler)).not.toContain('Plover');
  });
  it('takes a level that all can make where none is given', () => {
    const result = tradeOffOf(bench);
    expect(result.sound_dBA).toBe(32);
    expect(result.power_W).toBeCloseTo(200, -1);
    expect(result.coolers.every((c) => c.limited_by !== 'least-stable-speed')).toBe(true);
  });
  it('is part of compare only where sound is the condition', () => {
    expect(compare(bench, { power_W: [200] }).sound).toBeUndefined();
    const result = compare(bench, { power_W: [100, 200], sound_dBA: 35 });
    expect(result.sound).toEqual(tradeOffOf(bench, { power_W: [100, 200], sound_dBA: 35 }));
    const at200 = result.loads[1].order.find((o) => o.cooler === 'Heron')!;
    expect(result.sound!.coolers.find((c) => c.cooler === 'Heron')!.rise_K).toBeCloseTo(at200.rise_K, 9);
  });
  it('follows another room as compare and predict do', () => {
    const asked = { power_W: [200], sound_dBA: 35, ambient_C: 38, pressure_hPa: 850 };
    const { sound, loads } = compare(bench, asked);
    const { sound_dBA: _, ...room } = asked;
    const [atFull] = compare(bench, room).loads;
    const own = tradeOffOf(bench, { power_W: [200], sound_dBA: 35 });
    expect(sound).toEqual(tradeOffOf(bench, asked));
    for (const { cooler, rise_K, fan_rpm, notes, full_speed } of sound!.coolers) {
      const entry = loads[0].order.find((one) => one.cooler === cooler)!;
      expect(rise_K).toBeCloseTo(entry.rise_K, 9);
      expect(notes.join()).toMatch(/the room's air is \d+ % thinner/);
      const before = own.coolers.find((one) => one.cooler === cooler)!;
      expect(fan_rpm).toBe(before.fan_rpm);
      // Air of 850 hPa and 38 °C holds 0.795 of the mass of that at 1013.25 hPa and 22 °C (ideal gas), so cooling is worse.
      expect(rise_K - before.rise_K).toBeGreaterThan(0.5);
      const full = atFull.order.find((one) => one.cooler === cooler)!;
      expect(full_speed.rise_K).toBeCloseTo(full.rise_K, 9);
      expect(full_speed.rise_K).toBeGreaterThan(before.full_speed.rise_K + 0.5);
    }
  });
  it('refuses a level at the background', () => {
    expect(() => tradeOffOf(bench, { sound_dBA: 26 })).toThrow(BenchError);
    expect(() => tradeOffOf(bench, { sound_dBA: 26 })).toThrow(/at or below the background of 26 dBA/);
  });
  it('reads as tables', () => {
    const result = tradeOffOf(bench, { power_W: [200], sound_dBA: 35 });
    const text = soundTables(result, 0.95, 80).join('\n');
    expect(text).toMatch(/What full speed hides at 200 W/);
    expect(text).toMatch(/Speeds that make 35 dBA as metered/);
    expect(text).toMatch(/What 5 dB more gain at 200 W/);
    for (const line of text.split('\n')) expect(line.length).toBeLessThanOrEqual(80);
  });
});

describe('sound metered in several sessions', () => {
  const few = readBench(
    makeVirtualBench({
      seed: 4,
      coolers,
      samples: 4,
      mounts: 2,
      loads_W: [200],
      speeds: [0.3, 0.55, 1],
      scatter: { mount_K_per_W: 0.001, sample_K_per_W: 0.0005, reading_K: 0.05 },
    }).files,
  );
  /** The bench with Godwit metered in another session than the others, by a meter known to 3 dB. */
  const inSessions = (named: boolean): Bench => ({
    ...few,
    instruments: { ...few.instruments, sound_level: { ...few.instruments.sound_level, systematic_dB: 3 } },
    noise: few.noise.map((row) => ({
      ...row,
      ...(named && { session: row.cooler === 'Godwit' ? 'autumn' : 'spring' }),
    })),
  });
  const asked = { power_W: [200], sound_dBA: 36 };
  const widthOf = (at: Bench, first: string, second: string): number => {
    const pair = compare(at, asked).pairs.find(
      ({ a, b }) => [first, second].includes(a) && [first, second].includes(b),
    );
    return pair!.difference[0].high_K - pair!.difference[0].low_K;
  };
  it('holds what its meter may differ by between coolers of two sessions, and nothing of it within one', () => {
    const [one, two] = [inSessions(false), inSessions(true)];
    expect(widthOf(two, 'Heron', 'Plover') / widthOf(one, 'Heron', 'Plover')).toBeLessThan(1.05);
    expect(widthOf(two, 'Godwit', 'Plover') / widthOf(one, 'Godwit', 'Plover')).toBeGreaterThan(1.3);
    const mean = (at: Bench) => predict(at, asked).predictions[2];
    expect(mean(two).cooler).toBe('Godwit');
    const width = (at: Bench) => mean(at).mean_high_K - mean(at).mean_low_K;
    expect(width(two)).toBeGreaterThan(width(one));
    expect(tradeOffOf(two, asked).coolers[2].high_rpm).toBeGreaterThan(
      tradeOffOf(one, asked).coolers[2].high_rpm,
    );
    expect(compare(two, asked).warnings.join()).toMatch(/no cooler was metered in two of these sessions/);
  });
});

describe('least stable speed that is not stated', () => {
  const unstated = (): Bench => {
    const copy = readBench(made.files);
    return {
      ...copy,
      coolers: copy.coolers.map(({ fan_min_rpm: _, ...cooler }) => cooler),
    };
  };
  it('is assumed and said to be', () => {
    const { warnings, predictions } = predict(unstated(), { power_W: [200], sound_dBA: 26.5 });
    const said = warnings.find((w) => w.includes('no fan_min_rpm'));
    expect(said).toMatch(/least stable speed is assumed: Heron 5\d\d rpm, (the lowest|30 %)/);
    const heron = predictions.find((p) => p.cooler === 'Heron')!;
    expect(heron.notes.join()).toMatch(/cannot be as quiet as 26.5 dBA.*its least stable speed is assumed/);
    const { coolers: at } = tradeOffOf(unstated(), { power_W: [200], sound_dBA: 26.5 });
    expect(at[0]).toMatchObject({ fan_min_assumed: true, limited_by: 'least-stable-speed' });
    expect(predict(bench, { power_W: [200], sound_dBA: 35 }).warnings.join()).not.toMatch(/fan_min_rpm/);
  });
});
