import { expect, it } from 'vitest';
import { strangeLine } from './strange-line.ts';

const run = {
  run: 'a014',
  cooler: 'Fell Twin',
  power_W: 120,
  off_K: -20.2,
  u_K: 0.3,
  p: 1e-9,
  cause: 'typing',
} as const;

it('says which run, how far off, why, and how to leave it out', () => {
  expect(strangeLine([run])).toBe(
    'Run a014 (Fell Twin, 120 W) reads 20 K low, probably a typing error; the answers below include it: --without a014',
  );
  expect(strangeLine([])).toBe('');
});

it('names a mount by its cooler, sample and mount', () => {
  const mount = {
    cooler: 'Fell Twin',
    sample: '1',
    mount: '2',
    source: 'heater',
    power_W: 160,
    off_K: 4,
    u_K: 0.8,
    p: 1e-4,
    cause: null,
  };
  expect(strangeLine([mount, run])).toBe(
    'Mount Fell Twin/1/2 (160 W) reads 4.0 K high; Run a014 (Fell Twin, 120 W) reads 20 K low, probably a typing error; the answers below include them: --without "Fell Twin/1/2",a014',
  );
});

it('says of a mount that has one mate that the pair is the finding', () => {
  const mount = {
    cooler: 'Fell Twin',
    sample: '1',
    mount: '2',
    mate: 'Fell Twin/1/1',
    source: 'heater',
    power_W: 160,
    off_K: 8.04,
    u_K: 0.8,
    p: 1e-4,
    cause: 'interface' as const,
  };
  expect(strangeLine([mount])).toBe(
    'Mount Fell Twin/1/2 reads 8.0 K above Fell Twin/1/1 at 160 W, which is not the scatter of mounts; of the two it is the likelier one to be at fault, probably a poor interface; the answers below include it: --without "Fell Twin/1/2"',
  );
});
