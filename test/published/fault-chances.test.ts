import { expect, it } from 'vitest';
import { faultChances } from '../../src/screen/likely-faulty.ts';

it('chances of faulty mounts are those of every combination gone through with scipy', () => {
  // test/published/scripts/fault-chances.py, scipy.stats.multivariate_normal over itertools.product.
  const coolers = [
    [0.001, -0.001],
    [0.02, -0.02],
    [0, 0.003, 0.045],
    [0.002, -0.003],
    [-0.001, 0.0015],
  ];
  const found = faultChances(
    coolers.map((mounts) => ({
      estimate: Float64Array.from(mounts),
      unknown: Float64Array.from({ length: mounts.length ** 2 }, (_, at) =>
        at % (mounts.length + 1) === 0 ? 1e-2 + 4e-7 : 1e-2,
      ),
      sample: mounts.map(() => '1'),
    })),
  );
  const expected = [
    { healthy: [0.9734103586431141, 0.9756492671349798], allHealthy: 0.9661418247852944 },
    { healthy: [0.2404495636752896, 0.7204961664534044], allHealthy: 0.0004059902460069123 },
    {
      healthy: [0.9826307493241209, 0.9801706836255621, 0.007102618691258278],
      allHealthy: 0.00011150358918470106,
    },
    { healthy: [0.94857468820335, 0.9587407811884491], allHealthy: 0.9368389008125924 },
    { healthy: [0.974445674414068, 0.9714780971278454], allHealthy: 0.9639703136742093 },
  ];
  found.forEach((one, c) => {
    one!.healthy.forEach((chance, k) => {
      expect(chance / expected[c].healthy[k]).toBeCloseTo(1, 6);
    });
    expect(one!.allHealthy / expected[c].allHealthy).toBeCloseTo(1, 6);
  });
});
