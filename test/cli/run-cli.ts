import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

/** The built command line, which `npm test` builds first. */
export const CLI = fileURLToPath(new URL('../../dist/cli/heatladder.js', import.meta.url));
if (!existsSync(CLI)) throw new Error('the command line is not built: run `npm run build` first');

export interface Ended {
  status: number | null;
  stdout: string;
  stderr: string;
}

/** Runs the command line as a process, in a folder of its own where paths are short. */
export function heatladder(args: readonly string[], cwd: string): Promise<Ended> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [CLI, ...args], { cwd, stdio: ['ignore', 'pipe', 'pipe'] });
    const text = { stdout: '', stderr: '' };
    for (const name of ['stdout', 'stderr'] as const) {
      child[name].setEncoding('utf8').on('data', (part: string) => {
        text[name] += part;
      });
    }
    child.on('error', reject).on('close', (status) => resolve({ status, ...text }));
  });
}

/** A new folder, taken away when the test file ends. */
export function temporaryFolder(): { path: string; remove: () => void } {
  const path = mkdtempSync(join(tmpdir(), 'heatladder-test-'));
  return { path, remove: () => rmSync(path, { recursive: true, force: true }) };
}
