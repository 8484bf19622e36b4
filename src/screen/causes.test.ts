import { describe, expect, it } from 'vitest';
import { readBench } from '../bench/read-bench.ts';
import { coolerRuns } from '../fit/cooler-runs.ts';
import { posteriorOf } from '../fit/posterior-of.ts';
import type { CoolerSpec } from '../lab/cooler-spec.ts';
import { labData } from '../lab/lab-data.generated.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import { causeShifts } from './causes.ts';
import { jointRuns } from './left-out.ts';

describe('the sizes of every cause', () => {
  const coolers = ['air', 'liquid'].map(
    (kind) => labData.coolers.find((one) => one.kind === kind) as CoolerSpec,
  );
  const bench = readBench(makeVirtualBench({ seed: 3, coolers, mounts: 2, speeds: [1, 0.6] }).files);
  const posterior = posteriorOf(bench);
  const all = posterior.coolers.flatMap((cooler) => {
    const data = coolerRuns(bench, cooler.data.cooler, 'heater', cooler.data.runs);
    if (!data) return [];
    return jointRuns(posterior, cooler, data).flatMap((joint) =>
      causeShifts(joint, cooler.typical_K_per_W, 0.4),
    );
  });

  it('have chances that add to one, so that no cause is favoured', () => {
    const seen = new Set(all.map(({ cause }) => cause));
    expect([...seen].sort()).toEqual(['airflow', 'interface', 'leak', 'pipe-limit', 'pump', 'sensor']);
    for (const { sized } of all) {
      expect(sized.reduce((sum, { weight }) => sum + weight, 0)).toBeCloseTo(1, 12);
    }
  });

  it('are up as likely as down for a sensor that has moved', () => {
    for (const { cause, sized } of all) {
      if (cause !== 'sensor') continue;
      const up = sized.reduce((sum, { weight, size }) => sum + (size > 0 ? weight : 0), 0);
      expect(up).toBeCloseTo(0.5, 12);
    }
  });
});
