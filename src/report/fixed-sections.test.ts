import { describe, expect, it } from 'vitest';
import { makeLog, seeded } from '../../test/reduction/make-logs.ts';
import { readBench } from '../bench/read-bench.ts';
import { labData } from '../lab/lab-data.generated.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import { fixedSections } from './fixed-sections.ts';

/** A bench of one session with runs and sound alone. */
function plainFiles(): Map<string, Uint8Array> {
  const coolers = labData.coolers.filter(({ cooler }) => cooler === 'Siskin' || cooler === 'Rowan');
  return makeVirtualBench({ seed: 1, coolers }).files;
}

describe('what a page shows that no control moves', () => {
  it('is nothing for a bench without logs, maps or months', () => {
    expect(fixedSections(readBench(plainFiles()))).toBe('');
  });

  it('maps the contact surfaces on one scale, names escaped', () => {
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
    expect(html).toContain('Contact surfaces');
    expect(html).toContain('Siskin &lt;b&gt;');
    expect(html).not.toContain('<b>');
    const opacities = [...html.matchAll(/fill-opacity="([\d.]+)"/g)].map(([, text]) => Number(text));
    const [large, small] = [opacities.slice(0, 9), opacities.slice(9)];
    const range = (list: number[]) => Math.max(...list) - Math.min(...list);
    const ranges = [range(large), range(small)].sort((a, b) => b - a);
    expect(ranges[0] / ranges[1]).toBeCloseTo(5, 1);
    // Squares of a grid of 10 mm touch: no gap that reads as a height of its own.
    expect(
      new Set([...html.matchAll(/<rect [^>]*width="([\d.]+)"/g)].map(([, side]) => Number(side))),
    ).toEqual(new Set([10]));
    // The first row of the file, at the least y, is the lowest of the drawing.
    expect(/<rect x="0.00" y="([\d.]+)"/.exec(html)?.[1]).toBe('20.00');
    expect(html).toContain('µm from low to high');
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
