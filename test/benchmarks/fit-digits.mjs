/**
 * Certified digits of every NIST set in test/fixtures/nist, from both starts, for the engine and for scipy's curve_fit
 * in the same run, as the table of docs/engine.md.
 *
 * Usage: node test/benchmarks/fit-digits.mjs [--write]. Needs python3 with scipy; --write puts the table into the page.
 */
import { execFileSync } from 'node:child_process';
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { importSource } from './bundle.mjs';

const folder = new URL('../fixtures/nist/', import.meta.url);
const page = new URL('../../docs/engine.md', import.meta.url);
const { fitFormula } = await importSource('src/formula/fit-formula.ts');

const script = fileURLToPath(new URL('fit-digits.py', import.meta.url));
const reference = JSON.parse(
  execFileSync('python3', [script, fileURLToPath(folder)], { encoding: 'utf8', maxBuffer: 1e8 }),
);

/** Certified figures have eleven digits, so no more can be shown. */
function digits(value, certified) {
  if (value === null || !Number.isFinite(value)) return 0;
  if (value === certified) return 11;
  return Math.max(0, Math.min(11, -Math.log10(Math.abs((value - certified) / certified))));
}

function digitsOf(fit, certified) {
  const names = Object.keys(certified.parameters);
  return {
    parameters: Math.min(...names.map((name) => digits(fit.parameters[name], certified.parameters[name]))),
    errors: Math.min(
      ...names.map((name) => digits(fit.standardErrors[name], certified.standardErrors[name])),
      digits(fit.residualStandardDeviation, certified.residualStandardDeviation),
    ),
  };
}

const passes = ({ parameters, errors }, name) => parameters >= 6 && (errors >= 4 || name === 'Lanczos1');
const cell = (score) => `${score.parameters.toFixed(1)} / ${score.errors.toFixed(1)}`;
const rows = [];
const tally = { engine: 0, default: 0, tight: 0, starts: 0, wrong: 0 };
for (const file of readdirSync(folder).sort()) {
  const set = JSON.parse(readFileSync(new URL(file, folder), 'utf8'));
  const y = set.responseTransform === 'log' ? set.data.y.map(Math.log) : set.data.y;
  set.starts.forEach((start, k) => {
    const options = { formula: set.formula, data: { ...set.data, y }, start };
    const fit = fitFormula(options);
    const flat = {
      parameters: Object.fromEntries(Object.entries(fit.parameters).map(([n, p]) => [n, p.value])),
      standardErrors: Object.fromEntries(
        Object.entries(fit.parameters).map(([n, p]) => [n, p.standardError]),
      ),
      residualStandardDeviation: fit.residualStandardDeviation,
    };
    const engine = digitsOf(flat, set.certified);
    tally.starts++;
    if (fit.converged && passes(engine, set.name)) tally.engine++;
    else if (fit.converged) tally.wrong++;
    const others = ['default', 'tight'].map((kind) => {
      const other = reference.fits[set.name][k][kind];
      if (other.refused) return 'refused';
      const score = digitsOf(other, set.certified);
      if (passes(score, set.name)) tally[kind]++;
      return cell(score);
    });
    rows.push([set.name, k + 1, fit.converged ? cell(engine) : 'refused', ...others, fit.evaluations]);
  });
}

const widths = ['Set', 'Start', 'Engine', 'curve_fit', 'curve_fit, tight', 'Evaluations'];
const line = (cells) => `| ${cells.join(' | ')} |`;
const table = [
  line(widths),
  line(widths.map(() => '---')),
  ...rows.map(line),
  '',
  `Starts that reach 6 digits in every parameter and 4 in every standard error and in the residual deviation: engine ${tally.engine} of ${tally.starts}, curve_fit as it comes ${tally.default}, curve_fit with tight tolerances ${tally.tight}. Called converged and wrong by the engine: ${tally.wrong}. (scipy ${reference.scipy}, numpy ${reference.numpy}, Node ${process.versions.node}.)`,
].join('\n');
console.log(table);
if (process.argv.includes('--write')) {
  const text = readFileSync(page, 'utf8');
  const [before, rest] = text.split('<!-- digits: begin -->');
  const [, after] = rest.split('<!-- digits: end -->');
  writeFileSync(page, `${before}<!-- digits: begin -->\n${table}\n<!-- digits: end -->${after}`);
}
