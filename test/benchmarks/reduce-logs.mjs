/**
 * Times reading and reducing 320 logs of 1,500 rows beside pandas reading the same files, turn by turn, each time in a
 * process of its own.
 *
 * usage: node test/benchmarks/reduce-logs.mjs [python3 with pandas] [turns] [--long]
 */
import { execFileSync } from 'node:child_process';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { withBundles } from './bundle.mjs';

const here = dirname(fileURLToPath(import.meta.url));
const [python = 'python3', turns = '5'] = process.argv.slice(2).filter((word) => !word.startsWith('--'));
const names = ['reduce-make', 'reduce-timed', 'reduce-long'];
const studies = names.map((name) => `test/benchmarks/${name}.ts`);
await withBundles(studies, (folder, bundles) => {
  const node = (name, ...words) =>
    execFileSync(process.execPath, [bundles[names.indexOf(name)], ...words], { encoding: 'utf8' });
  const logs = join(folder, 'logs');
  node('reduce-make', logs);
  const figures = {
    'our reading': [],
    'our reduce': [],
    'pandas reading': [],
    'pandas read and mean': [],
    'our reduce, whole process': [],
    'pandas, whole process': [],
  };
  const timed = (name, work) => {
    const start = performance.now();
    const out = JSON.parse(work());
    figures[name].push((performance.now() - start) / 1000);
    return out;
  };
  for (let turn = 0; turn < Number(turns); turn++) {
    figures['our reading'].push(JSON.parse(node('reduce-timed', folder, 'read')).seconds);
    const own = timed('our reduce, whole process', () => node('reduce-timed', folder, 'reduce'));
    figures['our reduce'].push(own.seconds);
    const peer = timed('pandas, whole process', () =>
      execFileSync(python, [join(here, 'reduce-pandas.py'), logs], { encoding: 'utf8' }),
    );
    figures['pandas reading'].push(peer.read);
    figures['pandas read and mean'].push(peer.total);
  }
  const median = (values) => [...values].sort((a, b) => a - b)[values.length >> 1];
  for (const [name, values] of Object.entries(figures))
    console.log(
      `${name}: median ${median(values).toFixed(3)} s (${values.map((v) => v.toFixed(3)).join(', ')})`,
    );
  console.log(
    `reading takes ${(median(figures['our reading']) / median(figures['pandas reading'])).toFixed(2)} of pandas' reading`,
  );
  console.log(
    `reduce takes ${(median(figures['our reduce']) / median(figures['pandas read and mean'])).toFixed(2)} of pandas' read and mean`,
  );
  if (process.argv.includes('--long')) console.log(`1 GB log: ${node('reduce-long')}`);
});
