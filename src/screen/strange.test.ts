import { expect, it } from 'vitest';
import { inHeadline } from './strange.ts';

it('holds back what is marginal, typing errors apart', () => {
  const outlier = (p: number, cause: 'interface' | 'typing' | null) =>
    inHeadline({ verdict: 'outlier', p, cause });
  expect([0.0009, 0.001, 0.009].map((p) => outlier(p, 'interface'))).toEqual([true, false, false]);
  expect([0.0009, 0.009].map((p) => outlier(p, null))).toEqual([true, false]);
  expect([0.0009, 0.009].map((p) => outlier(p, 'typing'))).toEqual([true, true]);
  expect(inHeadline({ verdict: 'straggler', p: 0.02, cause: 'typing' })).toBe(false);
});
