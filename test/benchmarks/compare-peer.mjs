/**
 * Times one model, one fit for each of 40 coolers with 16 runs and all 780 pairs at 61 loads beside a script with numpy and
 * scipy, turn by turn, each in a process of its own; holds the answers against each other; then the full command.
 *
 * usage: node test/benchmarks/compare-peer.mjs [python3 with scipy] [turns]
 */
import { execFileSync, spawnSync } from 'node:child_process';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { withBundles } from './bundle.mjs';

const here = dirname(fileURLToPath(import.meta.url));
const [python = 'python3', turns = '5'] = process.argv.slice(2);
const studies = ['compare-peer-make', 'compare-peer-timed'].map((name) => `test/benchmarks/${name}.ts`);
// The start of a process is among what is timed.
await withBundles(studies, compareWithPeer, { mainFields: ['module', 'main'], minify: true });

function compareWithPeer(folder, [make, study]) {
  const bench = join(folder, 'bench');
  execFileSync(process.execPath, [make, bench]);
  const figures = { ours: [], peer: [] };
  let version = '';
  for (let turn = 0; turn < Number(turns); turn++) {
    const ours = timed(process.execPath, [study, bench]);
    const peer = timed(python, [join(here, 'compare-peer.py'), bench]);
    if (turn === 0) assertAlike(ours, peer);
    version = peer.version;
    figures.ours.push(ours);
    figures.peer.push(peer);
  }
  const median = (rows, of) => {
    const values = rows.map((row) => row[of]).sort((a, b) => a - b);
    return values[values.length >> 1];
  };
  console.log(`node ${process.version}, ${version}; medians of ${turns} turns`);
  for (const of of ['wall_s', 'cpu_s', 'process_wall_s', 'process_cpu_s']) {
    const [a, b] = [median(figures.ours, of), median(figures.peer, of)];
    console.log(`${of.padEnd(15)} ours ${a.toFixed(3)}  peer ${b.toFixed(3)}  ratio ${(a / b).toFixed(2)}`);
  }
  const cli = join(here, '../../dist/cli/heatladder.js');
  const full = spawnSync(
    'bash',
    [
      '-c',
      'TIMEFORMAT=%U; time "$0" "$1" compare "$2" --power 50:350:5 --json >/dev/null',
      process.execPath,
      cli,
      bench,
    ],
    { encoding: 'utf8' },
  );
  console.log(
    `full compare at 61 loads: ${full.stderr.trim().split('\n').at(-1)} s of CPU, the start included`,
  );
}

/** The same rises to a millionth, and the same sum of all differences. */
function assertAlike(ours, peer) {
  const names = Object.keys(peer.coolers);
  if (names.length !== Object.keys(ours.coolers).length || ours.pairs !== peer.pairs)
    throw new Error('other coolers');
  let worst = Math.abs(ours.sum / peer.sum - 1);
  for (const name of names) {
    peer.coolers[name].forEach((rise, k) => {
      worst = Math.max(worst, Math.abs(ours.coolers[name][k] / rise - 1));
    });
  }
  if (!(worst < 1e-6)) throw new Error(`the answers differ by ${worst}`);
  console.log(`${names.length} coolers, ${ours.pairs} pairs: answers agree to ${worst.toExponential(1)}`);
}

/** What a process says of itself, and how long it was there, its start included. */
function timed(program, words) {
  const start = performance.now();
  const said = JSON.parse(execFileSync(program, words, { encoding: 'utf8' }));
  return { ...said, process_wall_s: (performance.now() - start) / 1000 };
}
