import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import { type Ended, heatladder } from '../cli/run-cli.ts';

const root = fileURLToPath(new URL('../../', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'heatladder-readme-'));
const read = (name: string) => readFileSync(join(root, name), 'utf8');

afterAll(() => rmSync(folder, { recursive: true, force: true }));

const run = (line: string): Promise<Ended> => heatladder(line.split(' ').slice(1), folder);

/** Every command in the table of the README, in its order. */
const lines = [...read('README.md').matchAll(/^\| `(heatladder [^`]+)` \|/gm)].map(([, line]) => line);
describe('commands that the README and the guide for developers name', () => {
  it('the demo comes first and every command of the program is in the table', async () => {
    expect(lines[0]).toBe('heatladder init demo-bench');
    const { stdout } = await run('heatladder --help');
    const names = stdout
      .slice(stdout.indexOf('\nCommands\n') + 10, stdout.indexOf('\n\nOptions'))
      .split('\n')
      .flatMap((line) => /^ {2}(\S+)/.exec(line)?.[1] ?? [])
      .filter((name) => name !== 'completion');
    expect(lines.map((line) => line.split(' ')[1]).sort()).toEqual(names.sort());
  });

  it('the bench and the library call that are shown work', async () => {
    const text = read('README.md');
    const yaml = /```yaml\n([\s\S]*?)```/.exec(text)?.[1] ?? '';
    const csv = /```csv\n([\s\S]*?)```/.exec(text)?.[1] ?? '';
    const { readBench, predict, compare } = await import('../../src/index.ts');
    const encode = (content: string) => new TextEncoder().encode(content);
    const bench = readBench(
      new Map([
        ['bench.yaml', encode(yaml)],
        ['runs.csv', encode(csv)],
      ]),
    );
    const [prediction] = predict(bench, { power_W: [220], coolers: ['Siskin'] }).predictions;
    expect(prediction.mean_low_K).toBeLessThan(prediction.rise_K);
    expect(compare(bench, { power_W: [220] }).loads[0].order[0].cooler).toBe('Siskin');
  });

  it('name scripts and studies that exist', () => {
    const scripts = JSON.parse(read('package.json')).scripts as Record<string, string>;
    const text = `${read('README.md')}\n${read('DEVELOPERS.md')}\n${read('docs/coverage.md')}`;
    const named = [...text.matchAll(/npm run ([a-z:]+)/g)].map(([, name]) => name);
    expect(named.length).toBeGreaterThan(3);
    for (const name of named) expect(Object.keys(scripts)).toContain(name);
    for (const [, study] of text.matchAll(/test\/benchmarks\/run\.mjs ([a-z-]+)/g)) {
      expect(existsSync(join(root, `test/benchmarks/${study}.ts`)), study).toBe(true);
    }
  });
});
