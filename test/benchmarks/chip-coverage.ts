/**
 * Coverage and width of predictions on a chip for coolers never run on it: node test/benchmarks/run.mjs chip-coverage
 * [benches] [first seed]
 */
import { chipCoverage } from './chip-study.ts';

const [benches = '30', first = '1'] = process.argv.slice(2);
for (const onChip of [0, 1, 2, 3, 4]) {
  const t = chipCoverage(Number(benches), Number(first), onChip);
  console.log(
    `${onChip} coolers on the chip: true mean ${t.mean.toFixed(1)} ± ${t.meanError.toFixed(1)} %, width ${t.meanWidth.toFixed(1)} % of the rise; ` +
      `fresh run ${t.run.toFixed(1)} ± ${t.runError.toFixed(1)} %, width ${t.runWidth.toFixed(1)} %; bias ${t.bias_K.toFixed(2)} K; ` +
      `left out inside ${t.leftOut.toFixed(0)} %; scatter ${t.scatter.toFixed(4)} K/W`,
  );
}
