import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';

const root = fileURLToPath(new URL('../../', import.meta.url));

it('the list of licences is that of the packages built in, each one that may be', { timeout: 60_000 }, () => {
  const { status, stderr } = spawnSync(process.execPath, ['src/build/licences.mjs', '--check'], {
    cwd: root,
    encoding: 'utf8',
  });
  expect(stderr).toBe('');
  expect(status).toBe(0);
  const rows = readFileSync(`${root}/docs/licences.md`, 'utf8').match(/^\| (?!package|--).*\|$/gm) ?? [];
  const licences = rows.map((row) => row.split('|')[3].trim());
  expect(licences.length).toBeGreaterThan(10);
  // Licences that ask for no more than that their text comes along.
  for (const licence of licences)
    expect(licence).toMatch(/^(MIT|ISC|BSD-[23]-Clause|Apache-2\.0|0BSD|MIT AND .*)$/);
});
