// Bundles one of the studies beside this file and runs it: node test/benchmarks/run.mjs NAME [arguments]
import { spawnSync } from 'node:child_process';
import { withBundles } from './bundle.mjs';

const [name, ...rest] = process.argv.slice(2);
process.exitCode = await withBundles([`test/benchmarks/${name}.ts`], (_folder, [study]) => {
  const words = ['--enable-source-maps', study, ...rest];
  return spawnSync(process.execPath, words, { stdio: 'inherit' }).status ?? 1;
});
