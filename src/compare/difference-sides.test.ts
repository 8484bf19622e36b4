import { expect, it } from 'vitest';
import { compare } from '../answers/compare.ts';
import { readBench } from '../bench/read-bench.ts';

// Only the cooler with pipes may meet a limit at 320 W after runs up to 160 W, and that makes it hotter: the difference, it less the one without,
// may be much greater than the best estimate and hardly less. Exchanged sides would say the opposite.
it('the limits of a difference reach farther to the side of the cooler whose pipes may give out', () => {
  const rows = ['cooler,mount,power_W,fan_rpm,source_C,ambient_C'];
  for (const cooler of ['piped', 'bare'])
    for (const mount of [1, 2])
      for (const power of [40, 80, 120, 160])
        rows.push(`${cooler},${mount},${power},1500,${(22 + power * (0.2 + 0.001 * mount)).toFixed(2)},22`);
  const files = {
    'bench.yaml': 'name: Sides\n',
    'runs.csv': rows.join('\n'),
    'coolers.csv': 'cooler,heat_pipes,heat_pipe_diameter_mm\npiped,5,6\nbare,0,\n',
  };
  const bench = readBench(
    new Map(Object.entries(files).map(([name, text]) => [name, new TextEncoder().encode(text)])),
  );
  const [{ a, difference }] = compare(bench, { power_W: [320] }).pairs;
  const [{ rise_K, low_K, high_K }] = difference;
  const [up, down] = a === 'piped' ? [high_K - rise_K, rise_K - low_K] : [rise_K - low_K, high_K - rise_K];
  expect(up).toBeGreaterThan(1.3 * down);
});
