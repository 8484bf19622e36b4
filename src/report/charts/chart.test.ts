import { describe, expect, it } from 'vitest';
import { DAY, NIGHT } from '../page/marks.ts';
import { besidePoints, contrast, LETTER, lettering, MOST_NAMED, shortNames } from './chart.ts';

describe('names in drawings', () => {
  it('stay apart when they are cut', () => {
    const names = Array.from({ length: 40 }, (_, k) => `Alder Tower Extended Edition ${k} with two fans`);
    for (const most of [10, 15, 18, 26]) {
      const short = names.map(shortNames(names, most));
      expect(new Set(short).size).toBe(40);
      for (const name of short) expect(name.length).toBeLessThanOrEqual(most + 2);
    }
    expect(shortNames(names, 26)(names[17])).toContain('17');
  });

  it('are whole where they fit, and cut in the middle where their ends tell them apart', () => {
    const short = shortNames(
      ['Reed', 'Alder Tower with a rather long name', 'Sedge with a rather long name too'],
      20,
    );
    expect(short('Reed')).toBe('Reed');
    expect(short('Alder Tower with a rather long name')).toBe('Alder Tower …ng name');
  });

  // Black on white has 21, and #767676 on white 4.54 (WCAG 2.2, the usual grey at the limit).
  it('have the contrast that small letters need, by day and by night', () => {
    expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 6);
    expect(contrast('#767676', '#ffffff')).toBeCloseTo(4.54, 2);
    const day = { text: '#1c1e21', paper: '#fbfaf7' };
    const night = { text: '#ebe9e4', paper: '#16181b' };
    expect(Math.min(...DAY.map((hue) => contrast(hue, day.paper)))).toBeLessThan(4.5);
    for (const hue of DAY) expect(contrast(lettering(hue, day), day.paper)).toBeGreaterThanOrEqual(4.5);
    for (const hue of NIGHT) expect(contrast(lettering(hue, night), night.paper)).toBeGreaterThanOrEqual(4.5);
    expect(lettering('#002a50', day)).toBe('#002a50');
  });
});

describe('names beside points', () => {
  const plot = { width: 300, height: 300 };
  const ranges = { x: [0, 300], y: [0, 300] } as const;
  const put = (at: readonly { x: number; y: number }[], text: string) =>
    besidePoints(
      at.map((one) => ({ ...one, text, colour: '#000000' })),
      ranges,
      plot,
      0,
    ).at(-1) as unknown as { x: number[]; y: number[]; textposition: string[] };

  it('cover no other point', () => {
    // The second point lies where the name of the first would stand.
    const { y, textposition } = put(
      [
        { x: 100, y: 150 },
        { x: 130, y: 150 },
      ],
      'Reed',
    );
    const first = textposition.indexOf('middle left');
    expect(first >= 0 || y.some((one) => Math.abs(one - 150) > 15)).toBe(true);
  });

  it('are left out far from their points where there are many, never where there are few', () => {
    const crowd = (count: number) => Array.from({ length: count }, (_, k) => ({ x: 20 + (k % 5), y: 150 }));
    expect(put(crowd(MOST_NAMED), 'Reed').x).toHaveLength(MOST_NAMED);
    const { x, y } = put(crowd(60), 'Reed');
    expect(x.length).toBeGreaterThan(0);
    expect(x.length).toBeLessThan(60);
    for (const one of y) expect(Math.abs(one - 150)).toBeLessThanOrEqual(3 * 15);
  });

  it('stand to the left where the right has no room', () => {
    expect(put([{ x: 300 - LETTER, y: 100 }], 'Reed').textposition).toEqual(['middle left']);
  });
});
