import { describe, expect, it } from 'vitest';
import { readBench } from '../bench/read-bench.ts';
import { demoBench } from '../demo/init.ts';
import { fixedSections } from './fixed-sections.ts';

describe('what a page shows that no control moves', () => {
  it('is nothing for a bench without logs, maps or months', () => {
    expect(fixedSections(readBench(demoBench().files))).toBe('');
  });

  it('maps the contact surfaces on one scale, names escaped', () => {
    const files = new Map(demoBench().files);
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
  });
});
