import { describe, expect, it } from 'vitest';
import { table } from './table.ts';
import { displayWidth, shorten, wrap } from './text-width.ts';

const columns = [
  { title: 'cooler', align: 'left' },
  { title: 'rise', unit: 'K', align: 'right' },
] as const;

describe('a table', () => {
  it('sets names left, numbers right and the unit in the header', () => {
    expect(
      table(columns, [
        ['Heron', '9.5'],
        ['Marsh Lantern', '38.42'],
      ]),
    ).toBe(
      [
        '  cooler         rise, K',
        '  -------------  -------',
        '  Heron              9.5',
        '  Marsh Lantern    38.42',
      ].join('\n'),
    );
  });

  it('lines up names in wide characters', () => {
    const lines = table(columns, [
      ['冷却器 A', '1.0'],
      ['Heron', '2.0'],
    ]).split('\n');
    expect(new Set(lines.slice(2).map(displayWidth)).size).toBe(1);
  });

  it('stays within its width by shortening names, but keeps them apart', () => {
    const long = 'The exceedingly long name of a cooler, second edition, ';
    const one = table(
      columns,
      [
        [`${long}black`, '1.0'],
        [`${long}white`, '2.0'],
      ],
      { width: 40 },
    );
    for (const line of one.split('\n')) expect(displayWidth(line)).toBeLessThanOrEqual(40);
    expect(one).toContain('black');
    expect(one).toContain('white');
    const same = table(
      columns,
      [
        [`${long}black x ${long}`, '1.0'],
        [`${long}white x ${long}`, '2.0'],
      ],
      { width: 40 },
    );
    expect(same).toContain('black');
    expect(same).toContain('white');
  });

  it('goes on below with the names again where columns do not fit', () => {
    const many = [
      columns[0],
      ...Array.from({ length: 9 }, (_, i) => ({ ...columns[1], title: `measure${i}` })),
    ];
    const text = table(many, [['Heron', ...Array.from({ length: 9 }, () => '12.345')]], { width: 60 });
    expect(text.match(/Heron/g)).toHaveLength(3);
    for (const line of text.split('\n')) expect(displayWidth(line)).toBeLessThanOrEqual(60);
  });

  it('refuses a row of another length', () => {
    expect(() => table(columns, [['Heron']])).toThrow(RangeError);
  });
});

describe('the width of a text', () => {
  it('counts wide characters twice and combining marks not at all', () => {
    expect(displayWidth('冷却器 A')).toBe(8);
    expect(displayWidth('e\u0301')).toBe(1);
    expect(displayWidth('38.42 ± 0.31')).toBe(12);
  });

  it('shortens in the middle and breaks at blanks', () => {
    expect(shorten('North Lab Tower 140 black', 16)).toBe('North L..0 black');
    expect(displayWidth(shorten('冷却器冷却器冷却器', 10))).toBeLessThanOrEqual(10);
    expect(wrap('one two three', 8, 2)).toEqual(['one two', '  three']);
  });
});
