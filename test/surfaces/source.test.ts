import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { BenchError } from '../../src/bench/bench-error.ts';
import { shippedSource, shippedSources } from '../../src/surfaces/shipped-sources.ts';
import { readSource } from './read-source.ts';

const folder = new URL('../../models/sources/', import.meta.url);
const heater = readFileSync(new URL('heater.yaml', folder), 'utf8');

describe('source', () => {
  it('reads every shipped source under the name of its file', () => {
    const files = readdirSync(folder);
    expect(files.length).toBeGreaterThanOrEqual(3);
    for (const file of files) {
      const source = readSource(file, readFileSync(new URL(file, folder), 'utf8'));
      expect(`${source.source}.yaml`).toBe(file);
      expect(source.hot_spots.reduce((sum, spot) => sum + spot.share, 0)).toBeCloseTo(1, 9);
    }
  });
  it('has the shipped sources without files, as the files say', () => {
    const read = readdirSync(folder).map((file) =>
      readSource(file, readFileSync(new URL(file, folder), 'utf8')),
    );
    expect([...shippedSources]).toEqual(read.sort((a, b) => (a.source < b.source ? -1 : 1)));
    expect(shippedSource('heater')?.title).toBe('Dummy heater, copper block');
    expect(shippedSource('no such source')).toBeUndefined();
  });
  it('is the example', () => {
    expect(readSource('heater.yaml', heater).face).toEqual({ width_mm: 37.4, depth_mm: 37.4 });
  });
  it.each([
    [
      'face: { width_mm: 37.4, depth_mm: 37.4 }',
      'face: { width_mm: 37.4 }',
      /^h\.yaml:5:7: the key depth_mm is missing/,
    ],
    ['thickness_mm: 5', 'thickness_mm: thick', /^h\.yaml:6:24: thickness_mm is not a number/],
    ['thickness_mm: 5', 'thickness_mm: 0', /^h\.yaml:6:24: .*above 0/],
    ['share: 1', 'share: 0.9', /^h\.yaml:8:3: the shares of the hot spots make 0\.9/],
    [
      'width_mm: 37.4, depth_mm: 37.4, share',
      'width_mm: 40, depth_mm: 37.4, share',
      /^h\.yaml:8:5: the hot spot reaches beyond/,
    ],
    ['sensor:', 'sensr:', /^h\.yaml:9:1: unknown key sensr; accepted are source/],
    ['source: heater', 'source: [', /^h\.yaml:\d+:\d+: /],
    ['sensor: { x_mm: 0', 'sensor: { x_mm: 20', /^h\.yaml:9:17: x_mm is not a number from -18\.7 to 18\.7/],
  ])('refuses %s → %s', (was, becomes, message) => {
    const text = heater.replace(was, becomes);
    expect(text).not.toBe(heater);
    expect(() => readSource('h.yaml', text)).toThrow(BenchError);
    expect(() => readSource('h.yaml', text)).toThrow(message);
  });
  it('refuses an empty file', () => {
    expect(() => readSource('h.yaml', '')).toThrow(/^h\.yaml:1:1: a mapping/);
  });
});
