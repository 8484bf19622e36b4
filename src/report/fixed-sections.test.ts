import { describe, expect, it } from 'vitest';
import { makeLog, seeded } from '../../test/logs/make-logs.ts';
import { readBench } from '../bench/read-bench.ts';
import { labData } from '../lab/lab-data.generated.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import { fixedSections } from './fixed-sections.ts';
import { surfaceMaps } from './surface-maps.ts';

/** A bench of one session with runs and sound alone. */
function plainFiles(): Map<string, Uint8Array> {
  const coolers = labData.coolers.filter(({ cooler }) => cooler === 'Siskin' || cooler === 'Rowan');
  return makeVirtualBench({ seed: 1, coolers }).files;
}

describe('what a page shows that no control moves', () => {
  it('is nothing for a bench without logs, maps or months', () => {
    expect(fixedSections(readBench(plainFiles()))).toBe('');
  });

  it('tells what the contact surfaces cost, names escaped, and holds the gap under each', () => {
    const files = plainFiles();
    const runs = new TextDecoder().decode(files.get('runs.csv')).replaceAll('Siskin', 'Siskin <b>');
    files.set('runs.csv', new TextEncoder().encode(runs));
    files.delete('noise.csv');
    files.delete('coolers.csv');
    const map = (bow_um: number) =>
      new TextEncoder().encode(
        `x_mm,y_mm,depth_um\n${[-10, 0, 10].flatMap((y) => [-10, 0, 10].map((x) => `${x},${y},${(bow_um * (x * x + y * y)) / 200}`)).join('\n')}\n`,
      );
    files.set('flatness/Siskin <b>-1.csv', map(40));
    files.set('flatness/Rowan-1.csv', map(8));
    const html = fixedSections(readBench(files));
    expect(html).toContain('What the contact surfaces cost');
    expect(html).toContain('Siskin &lt;b&gt;');
    expect(html).not.toContain('<b>');
    // The gap of a bowl that is five times as deep is five times as wide, and where it rests there is none.
    const [large, small] = surfaceMaps(readBench(files)).sort(
      (one, other) => other.mean_gap_um - one.mean_gap_um,
    );
    expect(Math.max(...large.gap_um) / Math.max(...small.gap_um)).toBeCloseTo(5, 1);
    expect(Math.min(...large.gap_um)).toBeLessThan(0.5);
    expect(large.gap_um).toHaveLength(large.columns * large.rows);
  });

  it('leaves out a column that says nothing, and sets digits under digits', () => {
    const { csv } = makeLog(
      {
        loads: [{ power_W: 120, seconds: 1200 }],
        elements: [{ resistance_K_per_W: 0.2, time_s: 60 }],
        interval_s: 1,
        noise_K: 0.03,
        correlation: 0,
        ambient_C: 22,
        wander_K: 0.05,
        wander_s: 600,
        ambientNoise_K: 0.02,
        powerNoise_W: 0.1,
        rounding_K: 0.01,
        ambientRounding_K: 0.01,
      },
      seeded(4),
    );
    const text = {
      'bench.yaml': 'name: One log\n',
      'logs.csv': 'run,cooler,sample,mount,source,log\na,Reed,1,1,heater,a.csv\n',
      'logs/a.csv': csv,
    };
    const files = new Map(Object.entries(text).map(([name, one]) => [name, new TextEncoder().encode(one)]));
    const html = fixedSections(readBench(files));
    expect(html).toContain('<th scope="col" class="number">load, W</th>');
    expect(html).toContain('<td class="number">120</td>');
    expect(html).not.toContain('remarks');
    files.set('logs/a.csv', new TextEncoder().encode(csv.split('\n').slice(0, 90).join('\n')));
    expect(fixedSections(readBench(files))).toContain('<th scope="col">remarks</th>');
  });
});
