import { mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { FlatnessResult } from '../../src/answers/flatness.ts';
import { type Ended, heatladder, temporaryFolder } from './run-cli.ts';

const folder = temporaryFolder();
const call = (...args: string[]): Promise<Ended> => heatladder(args, folder.path);
const inside = (...parts: string[]): string => join(folder.path, ...parts);

/** A map of a 40 mm square base, read every 5 mm. */
function writeMap(name: string, depth_um: (x: number, y: number) => number): void {
  const lines = ['x_mm,y_mm,depth_um'];
  for (let x = -20; x <= 20; x += 5) {
    for (let y = -20; y <= 20; y += 5) lines.push(`${x},${y},${depth_um(x, y)}`);
  }
  writeFileSync(inside('demo', 'flatness', `${name}.csv`), `${lines.join('\n')}\n`);
}

beforeAll(async () => {
  expect((await call('init', 'demo')).status).toBe(0);
  expect((await call('init', 'bare')).status).toBe(0);
  for (const name of ['demo', 'bare']) rmSync(inside(name, 'flatness'), { recursive: true, force: true });
  mkdirSync(inside('demo', 'flatness'));
  writeMap('Siskin-1', (x, y) => (x * x + y * y) / 10);
  writeMap('Rowan-1', (x, y) => -(x * x + y * y) / 20);
  writeMap('Rowan-2', (x) => 0.4 * x);
  const yaml = inside('demo', 'bench.yaml');
  const stated = readFileSync(yaml, 'utf8');
  writeFileSync(yaml, stated.replace(/^chips:$/m, 'chips:\n  - { chip: small, geometry: one-die }'));
});
afterAll(folder.remove);

async function json(...args: string[]): Promise<FlatnessResult> {
  const ended = await call('flatness', 'demo', ...args, '--json');
  expect(ended.stderr).not.toContain('    at ');
  expect(ended.status).toBe(0);
  return JSON.parse(ended.stdout) as FlatnessResult;
}

describe('flatness', () => {
  it('says of each surface how flat it is, its gap, and what that costs', async () => {
    const { surfaces } = await json('--power', '200');
    expect(surfaces.map((row) => [row.cooler, row.sample])).toEqual([
      ['Rowan', '1'],
      ['Rowan', '2'],
      ['Siskin', '1'],
    ]);
    const [hollow, tilted, bowed] = surfaces;
    // x² + y² over 10 µm per mm² goes from 0 in the middle to 80 µm at the corners; a tilt is no unevenness.
    expect(bowed.flatness_um).toBeCloseTo(80, 6);
    expect(hollow.flatness_um).toBeCloseTo(40, 6);
    expect(tilted.flatness_um).toBeCloseTo(0, 6);
    expect(tilted.rise_K).toBeCloseTo(0, 6);
    // The mean of (x² + y²)/10 over the square is 26.7 µm; with √(4·8) W/mK over 16 cm² that is 2.95 mK/W.
    expect(Math.abs(bowed.mean_gap_um - 26.7)).toBeLessThan(0.3);
    for (const row of surfaces) {
      expect(row.rise_K).toBeCloseTo(200 * row.resistance_K_per_W, 9);
      expect(row.resistance_K_per_W).toBeCloseTo((row.mean_gap_um * 1e-6) / (Math.sqrt(32) * 16e-4), 5);
    }
  });

  it('answers for the loads asked for and no other', async () => {
    const one = await json('--power', '150', '--cooler', 'Rowan');
    expect(one.surfaces.map((row) => row.power_W)).toEqual([150, 150]);
    expect(one.explanations).toEqual([]);
    const usual = await json();
    expect(new Set(usual.surfaces.map((row) => row.power_W))).toEqual(new Set([200]));
  });

  it('couples the gap to a source whose shape is known', async () => {
    const even = await json('--power', '200');
    const coupled = await json('--power', '200', '--source', 'small');
    expect([even.reading, coupled.reading]).toEqual(['even flux', 'coupled']);
    expect(coupled.source).toBe('small');
    const rise = (result: FlatnessResult, k: number) => result.surfaces[k].rise_K;
    // A die in the middle: high in the middle helps, hollow hurts.
    expect(rise(coupled, 2)).toBeLessThan(rise(even, 2));
    expect(rise(coupled, 0)).toBeGreaterThan(rise(even, 0));
  });

  it('says whether unevenness can explain what the bench sees', async () => {
    const { explanations } = await json('--power', '150,200');
    expect(explanations.map(({ a, b, power_W }) => [a, b, power_W])).toEqual([
      ['Siskin', 'Rowan', 150],
      ['Siskin', 'Rowan', 200],
    ]);
    for (const one of explanations) expect(one.sentence).toMatch(/Siskin/);
  });

  it('prints tables for people within 80 columns', async () => {
    const { stdout, stderr, status } = await call('flatness', 'demo', '--power', '200');
    expect(status).toBe(0);
    for (const line of stdout.split('\n')) expect(line.length).toBeLessThanOrEqual(80);
    expect(stdout).toContain('At 200 W');
    expect(stdout).toMatch(/Siskin +1 +convex +80\.0/);
    expect(stderr).toContain('No pressure given');
    expect((await call('flatness', 'demo', '--contact-pressure', '300')).stderr).not.toContain(
      'No pressure given',
    );
  });

  it.each([
    [['bare'], /^flatness:1:1: no map; /],
    [['demo', '--cooler', 'Lapwing'], /^flatness:1:1: no map for Lapwing; /],
    [['demo', '--paste', '8,4'], /^--paste: "8,4" is not a conductivity; give one number above 0/],
    [['demo', '--contact-pressure', '-3'], /^--contact-pressure: "-3" is not a pressure; give kPa above 0/],
  ])('refuses %j', async (args, message) => {
    const ended = await call('flatness', ...args);
    expect(ended.status).toBe(2);
    expect(ended.stdout).toBe('');
    expect(ended.stderr).toMatch(message);
  });
});

describe('a chip on the command line', () => {
  it('is predicted, compared and fitted from heater runs and its geometry', async () => {
    const predicted = await call('predict', 'demo', '--source', 'small', '--power', '150');
    expect(predicted.status).toBe(0);
    expect(predicted.stdout).toContain('source: small');
    expect(predicted.stdout).toContain('Term of small beside the heater');
    const compared = await call('compare', 'demo', '--source', 'small', '--power', '150', '--json');
    expect(JSON.parse(compared.stdout).source_term).toMatchObject({ source: 'small', before: 'geometry' });
    const fitted = await call('fit', 'demo', '--source', 'small', '--json');
    const { limits, source_term } = JSON.parse(fitted.stdout);
    expect(source_term.runs).toBe(0);
    // The shape says 95 °C, bench.yaml nothing.
    expect(limits[0].limit_C).toBe(95);
  });
});
