import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { datasetIdentity } from '../months/dataset-identity.ts';
import { fileHashes } from '../report/file-hashes.ts';
import { hashedFolder } from './hashed-folder.ts';
import { readBenchFolder } from './read-folder.ts';

let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'hashed-folder-'));
  mkdirSync(join(folder, 'logs'));
  writeFileSync(join(folder, 'bench.yaml'), 'name: attic\n');
  writeFileSync(join(folder, 'logs.csv'), 'run,cooler,log\n1,Heron,long.csv\n');
  const rows = Array.from({ length: 200_000 }, (_, i) => `${i},40.0,22.0,120,1200`);
  writeFileSync(
    join(folder, 'logs', 'long.csv'),
    `time_s,source_C,ambient_C,power_W,fan_rpm\n${rows.join('\n')}\n`,
  );
});
afterAll(() => {
  rmSync(folder, { recursive: true });
});

it('names a dataset as its whole files would, with no more than the heads of its logs at hand', () => {
  const whole = readBenchFolder(folder);
  const { files, hashes } = hashedFolder(folder);
  expect(files.get('logs/long.csv')?.length).toBeLessThan(20_000);
  expect(whole.get('logs/long.csv')?.length).toBeGreaterThan(4_000_000);
  expect(datasetIdentity(files, hashes)).toEqual(datasetIdentity(whole));
  expect(fileHashes(files, hashes)).toEqual(fileHashes(whole));
});
