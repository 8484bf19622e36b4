import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { SessionsResult } from '../../src/answers/sessions.ts';
import { heatladder, temporaryFolder } from './run-cli.ts';

const folder = temporaryFolder();
const RUNS: string[] = [];
['s1', 's2', 's3', 's4'].forEach((session, s) => {
  for (const [cooler, r] of [
    ['Sedge', 0.2],
    ['Rush', 0.17],
  ] as const) {
    for (const power of [60, 120, 180]) {
      // From the fourth session on the sensor reads 2 K high.
      const source = 22 + power * (r + 0.002 * (s % 2)) + (s === 3 ? 2 : 0) + 0.05 * ((power / 60 + s) % 2);
      RUNS.push(
        `r${RUNS.length + 1},${cooler},${s + 1},${session},boxed,${power},1000,${source.toFixed(2)},22`,
      );
    }
  }
});

beforeAll(() => {
  const bench = join(folder.path, 'attic');
  mkdirSync(bench);
  writeFileSync(join(bench, 'bench.yaml'), 'name: attic\nreference_cooler: Sedge\n');
  writeFileSync(
    join(bench, 'runs.csv'),
    `run,cooler,mount,session,method,power_W,fan_rpm,source_C,ambient_C\n${RUNS.join('\n')}\n`,
  );
  writeFileSync(
    join(bench, 'decisions.yaml'),
    'charts:\n  - chart: spring\n    published: 2025-03-14\n    excluded: [{name: r3, reason: the probe fell off}]\n',
  );
});
afterAll(() => folder.remove());

describe('sessions', () => {
  it('tells a drift, and shows the record', async () => {
    const { status, stdout, stderr } = await heatladder(['sessions', 'attic'], folder.path);
    expect(stderr).toBe('');
    expect(status).toBe(0);
    expect(stdout).toContain('Sedge is out of control in session s4');
    expect(stdout).toContain('left out: r3, the probe fell off');
    // As decisions.yaml takes it.
    expect(stdout).toMatch(/^ *dataset [0-9a-f]{64}$/m);
    for (const line of stdout.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
  });

  it('answers in JSON, and refuses a chart that is none', async () => {
    const { stdout } = await heatladder(['sessions', 'attic', '--json', '--chart', 'shewhart'], folder.path);
    const result = JSON.parse(stdout) as SessionsResult;
    expect(result.control_chart?.form).toBe('Shewhart');
    expect(result.control_chart?.in_control).toBe(false);
    expect(result.record?.dataset).toMatch(/^[0-9a-f]{64}$/);
    const refused = await heatladder(['sessions', 'attic', '--chart', 'bar'], folder.path);
    expect(refused.status).toBe(2);
    expect(refused.stderr).toMatch(/^--chart: "bar" is not a form of chart; give EWMA or Shewhart\n$/);
  });
});
