import { expect, it } from 'vitest';
import { strip } from './side-by-side.ts';

it('draws a mount, its uncertainty and the scatter of mounts about zero', () => {
  expect(strip(4, 1, 3, 10, 21)).toBe('    (     | --o--');
  expect(strip(-4, 0.1, 3, 10, 21)).toBe('    ( o   |     )');
  expect(strip(0, 0.1, 3, 10, 21)).toBe('    (     o     )');
});

it('puts a mount beyond the edge at the edge', () => {
  expect(strip(40, 1, 3, 10, 21)).toBe('    (     |     )   >');
  expect(strip(-40, 1, 3, 10, 21)).toBe('<   (     |     )');
});
