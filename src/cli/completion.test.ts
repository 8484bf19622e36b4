import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { catalogue } from '../answers/commands.ts';
import { completionScript } from './completion.ts';

const shared = { help: { describe: 'show this help' } };
const folder = mkdtempSync(join(tmpdir(), 'heatladder-completion-'));
afterAll(() => rmSync(folder, { recursive: true }));

const has = (shell: string) => spawnSync(shell, ['-c', 'true']).status === 0;

async function written(shell: string): Promise<string> {
  const place = join(folder, `completion.${shell}`);
  writeFileSync(place, await completionScript([shell], shared));
  return place;
}

describe('completion', () => {
  it.each(['bash', 'zsh', 'fish'])(
    'for %s knows every command and option and is in its syntax',
    async (shell) => {
      const script = await completionScript([shell], shared);
      for (const { name, load } of catalogue) {
        expect(script).toContain(name);
        for (const option of Object.keys((await load()).options())) expect(script).toContain(option);
      }
      if (!has(shell)) return;
      const checked = spawnSync(shell, ['-n', await written(shell)], { encoding: 'utf8' });
      expect(checked.stderr).toBe('');
      expect(checked.status).toBe(0);
    },
  );

  it.skipIf(!has('bash')).each([
    [['heatladder', 'com'], 'compare'],
    [['heatladder', 'pr'], 'predict'],
    [['heatladder', '--v'], '--version'],
    [['heatladder', 'compare', 'bench', '--so'], '--sound --source'],
    [['heatladder', 'plan', '--tar'], '--target'],
    [['heatladder', 'init', '--power'], ''],
  ])('bash completes %j', async (words, expected) => {
    const line = words.map((word) => `'${word}'`).join(' ');
    const script = `source "$0"; COMP_WORDS=(${line}); COMP_CWORD=${words.length - 1}; _heatladder; echo "\${COMPREPLY[@]}"`;
    const { stdout } = spawnSync('bash', ['-c', script, await written('bash')], { encoding: 'utf8' });
    expect(stdout.trim()).toBe(expected);
  });

  it.each([
    [[], 'completion: the shell is missing; give heatladder completion bash|zsh|fish'],
    [
      ['fisk'],
      'completion: "fisk" is not a shell with completion here (did you mean "fish"?); give heatladder completion bash|zsh|fish',
    ],
  ])('refuses %j', async (words, message) => {
    await expect(completionScript(words, shared)).rejects.toThrow(message);
  });
});
