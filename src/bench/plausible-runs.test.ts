import { describe, expect, it } from 'vitest';
import { demoBench } from '../lab/demo-bench.ts';
import { readBench } from './read-bench.ts';

const header = 'cooler,mount,power_W,fan_rpm,source_C,ambient_C';
const warningsOf = (rows: readonly string[], head = header, more: Record<string, string> = {}): string =>
  readBench(
    new Map(
      Object.entries({ 'bench.yaml': 'name: a', 'runs.csv': [head, ...rows].join('\n'), ...more }).map(
        ([name, text]): [string, Uint8Array] => [name, new TextEncoder().encode(text)],
      ),
    ),
  ).warnings.join('\n');

/** 0.2 K/W from 22 °C. */
const celsius = (load_W: number) => 22 + 0.2 * load_W;
const rows = (cooler: string, source: (load_W: number) => number, load = (load_W: number) => load_W) =>
  [60, 120, 180].map((load_W) => `${cooler},1,${load(load_W)},1500,${source(load_W)},22`);

describe('runs that cannot be', () => {
  it('nothing of those that can, at no load and below a late start of the pipes too', () => {
    expect(warningsOf(rows('A', celsius))).toBe('');
    expect(warningsOf([...rows('A', celsius), 'A,1,0,1500,22.4,22'])).toBe('');
    expect(warningsOf(rows('A', (load_W) => celsius(load_W) + 6))).toBe('');
    expect(readBench(demoBench().files).warnings.join()).not.toContain('check the unit');
  });

  it('degrees Fahrenheit under a name that says Celsius', () => {
    // 34, 46 and 58 °C are 93.2, 114.8 and 136.4 °F: rises of 71.2, 92.8 and 114.4, which head for 49.6 at no load.
    const text = warningsOf(rows('A', (load_W) => celsius(load_W) * 1.8 + 32));
    expect(text).toMatch(/^runs.csv:2:1: the rises head for 50 K at no load.* the name source_C /);
  });

  it('watts under a name that says mW or kW', () => {
    const head = header.replace('power_W', 'power_mW');
    expect(warningsOf(rows('A', celsius), head)).toContain(
      'more than 200 K/W, which no processor cooler has',
    );
    expect(warningsOf(rows('A', celsius), header.replace('power_W', 'power_kW'))).toContain(
      'less than 0.0002 K/W, which no processor cooler has; check the units in the names power_kW and source_C',
    );
  });
});

describe('a single run that cannot be', () => {
  it('a load ten times as great, less per watt than any cooler has', () => {
    expect(warningsOf([...rows('A', celsius), 'A,1,1201,1500,46,22'])).toBe(
      'runs.csv:5:5: 1201 W with a rise of 24 K are 0.02 K/W, less than any cooler has; check load and temperatures for a typing error',
    );
  });

  it('a source hotter than a heater survives', () => {
    expect(warningsOf([...rows('A', celsius), 'A,1,120,1500,467,22', 'A,1,120,1500,468,22'])).toBe(
      'runs.csv:5:14: 467 °C is hotter than a heater survives (and 1 more run); check it for a typing error',
    );
  });
});

describe('names that differ in how they are written alone', () => {
  const both = [...rows('Smew 120', celsius), ...rows('smew-120', celsius)];

  it('are told', () => {
    expect(warningsOf(both)).toBe(
      'runs.csv:5:1: "Smew 120" and "smew-120" are taken for different coolers; write one cooler\'s name in one way',
    );
    expect(warningsOf([...rows('Smew 120', celsius), ...rows('Smew 140', celsius)])).toBe('');
  });

  it('are meant where coolers.csv lists both', () => {
    expect(warningsOf(both, header, { 'coolers.csv': 'cooler,kind\nSmew 120,air\nsmew-120,air' })).toBe('');
  });
});
