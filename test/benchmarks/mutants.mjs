/**
 * Wrong code on purpose: each mutant changes one place of a copy of the source, and shows which of the outside checks fails then.
 *
 * Usage: node test/benchmarks/mutants.mjs [part of a mutant's name]. Exits with 1 where a mutant lives or no longer applies.
 */
import { execFileSync, spawnSync } from 'node:child_process';
import { cpSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../../', import.meta.url));
const LIVE = 'test/published/live-checks.test.ts';

/** What is changed, into what, and the checks that are to fail. `find` occurs once in the source, tests left out. */
const mutants = [
  [
    'sides of a difference exchanged',
    'const low_K = mixtureQuantile(difference, tail);\n  const high_K = mixtureQuantile(difference, 1 - tail);',
    'const low_K = 2 * rise_K - mixtureQuantile(difference, 1 - tail);\n  const high_K = 2 * rise_K - mixtureQuantile(difference, tail);',
    'src/compare',
  ],
  [
    'limits of a mean three times as far',
    'const stretched = { weight, mean, deviation: deviation.map((d) => d * stretch) };',
    'const stretched = { weight, mean, deviation: deviation.map((d) => 3 * d * stretch) };',
    LIVE,
  ],
  [
    'multiple of all pairs without √2',
    'quantile(level, freedom) / Math.SQRT2',
    'quantile(level, freedom)',
    LIVE,
  ],
  ['degrees of freedom halved', '(2 * variance * variance) / spread', '(variance * variance) / spread', LIVE],
  [
    'standard deviations three times as large',
    'sigma: Array.from(theta, (t) => Math.exp(t / 2))',
    'sigma: Array.from(theta, (t) => 3 * Math.exp(t / 2))',
    LIVE,
  ],
  ['offset of a session added', 'asRead_K[i] - effectOn(', 'asRead_K[i] + effectOn(', LIVE],
  ['even weight of formulas doubled', 'const EVEN_WEIGHT = 1;', 'const EVEN_WEIGHT = 2;', LIVE],
  [
    'formula weights upside down',
    'share[m] * Math.exp(value - best)',
    'share[m] * Math.exp(best - value)',
    LIVE,
  ],
  ['rise of a log 5 % high', '    rise_K: found.rise_K,', '    rise_K: 1.05 * found.rise_K,', LIVE],
  [
    'slope of sound halved',
    'mean_dB: 50, standardDeviation_dB: 5',
    'mean_dB: 25, standardDeviation_dB: 5',
    'test/published/acoustics.test.ts',
  ],
  [
    'background added for the speed at a level',
    'own_dBA = ownTarget(sound_dBA, background_dBA)',
    'own_dBA = sound_dBA',
    LIVE,
  ],
  [
    'energies added as amplitudes',
    'energy += 10 ** ((level - greatest) / 10)',
    'energy += 10 ** ((level - greatest) / 20)',
    'test/published/acoustics.test.ts',
  ],
  [
    'film of paste left out',
    'const thickness = (g + film_um) * 1e-6;',
    'const thickness = g * 1e-6 + 1e-9;',
    'src/surfaces/gap-cost.test.ts',
  ],
  ['mean over the bench not learnt', '      mean[j] = next;', '      mean[j] = stated.mean[j];', LIVE],
  [
    'what a chip’s runs tell turned round',
    'residual_K[i] = riseOf(run) - joint.mean[t];',
    'residual_K[i] = joint.mean[t] - riseOf(run);',
    LIVE,
  ],
  [
    'film under a plate doubled',
    "let sum = plate.sink.kind === 'film' ? 1 /",
    "let sum = plate.sink.kind === 'film' ? 2 /",
    'test/published/spreading.test.ts',
  ],
];

const only = process.argv[2] ?? '';
const copy = mkdtempSync(join(tmpdir(), 'heatladder-mutant-'));
let failed = 0;
try {
  for (const part of [
    'src',
    'test',
    'models',
    'package.json',
    'tsconfig.json',
    'vitest.config.ts',
    'docs',
    'README.md',
  ])
    cpSync(join(root, part), join(copy, part), { recursive: true });
  symlinkSync(join(root, 'node_modules'), join(copy, 'node_modules'));
  const files = execFileSync('git', ['ls-files', 'src'], { cwd: root, encoding: 'utf8' })
    .split('\n')
    .filter((name) => name.endsWith('.ts') && !name.endsWith('.test.ts'));
  console.log('| mutant | fails |\n| --- | --- |');
  for (const [name, find, put, checks] of mutants.filter(([label]) => label.includes(only))) {
    const places = files.filter((file) => readFileSync(join(copy, file), 'utf8').includes(find));
    if (places.length !== 1) {
      console.log(`| ${name} | no longer applies: found in ${places.length} files |`);
      failed = 1;
      continue;
    }
    const path = join(copy, places[0]);
    const text = readFileSync(path, 'utf8');
    writeFileSync(
      path,
      text.replace(find, () => put),
    );
    const report = join(copy, 'report.json');
    const words = ['vitest', 'run', '--reporter=json', `--outputFile=${report}`, ...checks.split(' ')];
    spawnSync('npx', words, { cwd: copy, encoding: 'utf8' });
    const { testResults } = JSON.parse(readFileSync(report, 'utf8'));
    const broken = testResults.flatMap(({ assertionResults }) =>
      assertionResults.filter(({ status }) => status === 'failed').map(({ title }) => title),
    );
    if (broken.length === 0) failed = 1;
    console.log(`| ${name} | ${broken.length === 0 ? 'nothing: it lives' : broken.slice(0, 3).join('; ')} |`);
    writeFileSync(path, text);
  }
} finally {
  rmSync(copy, { recursive: true, force: true });
}
process.exitCode = failed;
