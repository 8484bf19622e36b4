import { expect, it } from 'vitest';
import type { Run } from './bench.ts';
import { commonMountShare, countMounts, distinctMounts, namesOf } from './mounts.ts';
import { heatIntoBase, isSame, isSameCondition } from './run.ts';

const run = (id: string, more: Partial<Run> = {}): Run => ({
  run: id,
  cooler: 'A',
  sample: '1',
  source: 'heater',
  power_W: 100,
  fan_rpm: 1000,
  source_C: 60,
  ambient_C: 22,
  extra: {},
  line: 1,
  ...more,
});

it('takes a run without a mount for a fitting of its own, half in common with another such', () => {
  const [a, b] = [run('a'), run('b')];
  const [c, d] = [run('c', { mount: '1' }), run('d', { mount: '1' })];
  expect(countMounts([a, b, c, d])).toBe(3);
  expect(distinctMounts([a, b, c, d]).map((mount) => mount.runs.length)).toEqual([1, 1, 2]);
  const shares = [
    commonMountShare(a, a),
    commonMountShare(a, b),
    commonMountShare(a, c),
    commonMountShare(c, d),
  ];
  expect(shares).toEqual([1, 0.5, 0, 1]);
  expect(commonMountShare(c, run('e', { mount: '1', source: 'Kestrel' }))).toBe(0);
  expect([namesOf(a), namesOf(c)]).toEqual([['a'], ['c', 'A/1/1', 'A/1/1/heater']]);
});

it('has one tolerance for loads and speeds that count as the same', () => {
  expect([isSame(96, 100), isSame(100, 95.9), isSame(0, 0), isSame(0, 1)]).toEqual([
    true,
    false,
    true,
    false,
  ]);
  expect(isSameCondition(run('a'), run('b', { power_W: 103 }))).toBe(true);
  expect(isSameCondition(run('a'), run('b', { pump_rpm: 2000 }))).toBe(false);
  expect(isSameCondition(run('a'), run('b', { orientation: 'flat' }))).toBe(false);
});

it('lets no leak take the whole load, and no source below ambient gain any', () => {
  expect(heatIntoBase(100, 40, 0.05)).toBe(98);
  expect(heatIntoBase(100, 4000, 1)).toBe(5);
  expect(heatIntoBase(100, -3, 1)).toBe(100);
});
