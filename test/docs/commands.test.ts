import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { catalogue } from '../../src/answers/commands.ts';
import { type Ended, heatladder } from '../cli/run-cli.ts';

const folder = mkdtempSync(join(tmpdir(), 'heatladder-commands-'));

afterAll(() => rmSync(folder, { recursive: true, force: true }));

const run = (line: string): Promise<Ended> => heatladder(line.split(' ').slice(1), folder);

/** Every command in the table of the README, in its order. */
const readme = readFileSync(new URL('../../README.md', import.meta.url), 'utf8');
const lines = [...readme.matchAll(/^\| `(heatladder [^`]+)` \|/gm)].map(([, line]) => line);
/** The example that each command's help shows, in the order of the overview. */
const helpExamples = async () =>
  (await Promise.all(catalogue.map((entry) => entry.load()))).map((one) => one.example);

describe('commands that the README and every help name', () => {
  it('run as they stand on the demo bench', { timeout: 300_000 }, async () => {
    const done = new Set<string>();
    for (const line of [...lines, ...(await helpExamples())]) {
      // A folder or a bench is made once.
      if (done.has(line) || (/^heatladder (init|import)/.test(line) && done.has(lines[1]))) continue;
      const { status, stderr } = await run(line);
      expect(status, `${line}: ${stderr}`).toBe(0);
      done.add(line);
    }
    expect(done.size).toBeGreaterThan(lines.length);
    expect(existsSync(join(folder, 'demo-report.html'))).toBe(true);
    expect(existsSync(join(folder, 'my-bench/runs.csv'))).toBe(true);
  });

  it('of the page for beginners run one after the other, and the last makes the page', {
    timeout: 300_000,
  }, async () => {
    const text = readFileSync(new URL('../../docs/from-a-spreadsheet.md', import.meta.url), 'utf8');
    const steps = [...text.matchAll(/^```sh\n([^`]+)\n```/gm)].map(([, line]) => line);
    expect(steps.length).toBe(6);
    for (const line of steps) {
      const isMade =
        /^heatladder (init|import)/.test(line) && existsSync(join(folder, line.split(' ').at(-1) ?? ''));
      const { status, stderr } = isMade ? { status: 0, stderr: '' } : await run(line);
      expect(status, `${line}: ${stderr}`).toBe(0);
    }
    expect(existsSync(join(folder, 'my-report.html'))).toBe(true);
  });
});
