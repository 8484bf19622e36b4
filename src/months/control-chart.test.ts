import { describe, expect, it } from 'vitest';
import type { Bench } from '../bench/bench.ts';
import { readBench } from '../bench/read-bench.ts';
import { makeRandom } from '../lab/random.ts';
import { controlChart } from './control-chart.ts';

const scatter = { mount_K_per_W: 0.005, reading_K: 0.1, session_K_per_W: 0.003, sensor_K: 0.1 };

/** Sessions of one fitting of the reference at three loads, with the scatters above and a shift from one session on. */
function bench(
  seed: number,
  sessions: number,
  shift_K: number,
  from: number,
  mounts = 1,
  { until = sessions, sensor_K = scatter.sensor_K } = {},
): Bench {
  const random = makeRandom(seed);
  const rows = ['cooler,mount,session,power_W,fan_rpm,source_C,ambient_C'];
  for (let s = 0; s < sessions; s++) {
    const paste = random.normal(0, scatter.session_K_per_W);
    const sensor = random.normal(0, sensor_K) + (s >= from && s < until ? shift_K : 0);
    for (let m = 0; m < mounts; m++) {
      const mount = random.normal(0, scatter.mount_K_per_W);
      for (const load of [60, 120, 180]) {
        const rise = load * (0.2 + paste + mount) + sensor + random.normal(0, scatter.reading_K);
        rows.push(`Sedge,${s}.${m},s${s},${load},1000,${(22 + rise).toFixed(2)},22`);
      }
    }
  }
  const text = (lines: string) => new TextEncoder().encode(lines);
  return readBench(
    new Map([
      ['bench.yaml', text('reference_cooler: Sedge\n')],
      ['runs.csv', text(`${rows.join('\n')}\n`)],
    ]),
  );
}

describe('the control chart of the reference cooler', () => {
  it('finds a drift of 1 K in the sensors within three sessions', () => {
    let found = 0;
    for (let seed = 1; seed <= 60; seed++) {
      const chart = controlChart(bench(seed, 8, 1, 5), { scatter });
      const late = chart.series.flatMap(({ points }) => points.slice(5));
      if (late.some(({ state }) => state === 'out of control')) found++;
    }
    expect(found).toBeGreaterThanOrEqual(57);
  });

  it('raises at most one false alarm in 100 sessions', () => {
    let alarms = 0;
    let sessions = 0;
    for (let seed = 1; seed <= 60; seed++) {
      const chart = controlChart(bench(seed, 11, 0, 0), { scatter });
      // A chart that is out is looked into; what it says while out is no further alarm.
      const first = Math.min(
        ...chart.series.map(({ points }) => {
          const at = points.findIndex(({ state }) => state === 'out of control');
          return at < 0 ? points.length : at;
        }),
      );
      if (first < 11) alarms++;
      sessions += Math.min(first, 10);
    }
    expect(alarms / sessions).toBeLessThanOrEqual(0.01);
  });

  it('flags a bad session, and the healthy ones after it no more than any', () => {
    let found = 0;
    let healthy = 0;
    let flagged = 0;
    for (let seed = 1; seed <= 40; seed++) {
      const { series } = controlChart(bench(seed, 10, 1.5, 5, 1, { until: 6 }), { scatter });
      const out = Array.from({ length: 10 }, (_, k) =>
        series.some(({ points }) => points[k].state === 'out of control'),
      );
      if (out[5]) found++;
      healthy += 4;
      flagged += out.slice(6).filter(Boolean).length;
    }
    expect(found).toBe(40);
    expect(flagged / healthy).toBeLessThanOrEqual(0.01);
  });

  it('learns from the history how well the sensors settle', () => {
    const { mount_K_per_W, reading_K } = scatter;
    let stable = 0;
    let settled = 0;
    for (let seed = 1; seed <= 40; seed++) {
      const chart = controlChart(bench(seed, 12, 0, 0, 1, { sensor_K: 0.3 }), {
        scatter: { mount_K_per_W, reading_K },
      });
      if (chart.in_control) stable++;
      settled += chart.scatter.sensor_K / 40;
    }
    expect(stable).toBeGreaterThanOrEqual(36);
    expect(settled).toBeGreaterThan(0.2);
    expect(settled).toBeLessThan(0.4);
    const calm = controlChart(bench(1, 12, 0, 0, 1, { sensor_K: 0.03 }), {
      scatter: { mount_K_per_W, reading_K },
    });
    expect(calm.scatter.sensor_K).toBeLessThan(0.1);
  });

  it('tells the sensors from the paste', () => {
    const chart = controlChart(bench(3, 6, 1.2, 4, 2), { scatter });
    const offset = chart.series.find(({ quantity }) => quantity === 'offset');
    expect(offset?.points.map(({ state }) => state)).toEqual([
      'sets the target',
      'in control',
      'in control',
      'in control',
      'out of control',
      'out of control',
    ]);
    expect(offset?.points[4].verdict).toMatch(/^Session s4: Sedge reads \d\.\d\d K high at every load alike/);
    expect(chart.verdict).toContain('sessions s4 and s5');
    expect(chart.in_control).toBe(false);
  });

  it('says so when there is nothing to judge', () => {
    const chart = controlChart(bench(1, 1, 0, 0), { scatter });
    expect(chart.verdict).toContain('one session only');
    expect(chart.series[0].points[0].state).toBe('sets the target');
  });

  it('needs a reference cooler', () => {
    const { reference_cooler: _, ...without } = bench(1, 2, 0, 0);
    expect(() => controlChart(without)).toThrow('bench.yaml:1:1: a control chart needs a reference cooler');
    expect(() => controlChart(without, { cooler: 'Alder' })).toThrow('"Alder" has no runs with heat');
  });
});
