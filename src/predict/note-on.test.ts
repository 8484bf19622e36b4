import { expect, it } from 'vitest';
import { noteOn } from './at-conditions.ts';

it('a note begins with its cooler, once', () => {
  expect(noteOn('Heron', 'Heron cannot be as loud as 60 dBA')).toBe('Heron cannot be as loud as 60 dBA');
  expect(noteOn('Heron', 'metered once')).toBe('Heron: metered once');
});
