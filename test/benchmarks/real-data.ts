/** Prints what real-study.ts finds, as the table of docs/coverage.md: node test/benchmarks/run.mjs real-data */
import { crossings, fifthPower, finCounts, pipesOf, repeats, stepsCut } from './real-study.ts';

const DOIS = ['10.3390/en13071736', '10.4236/jectc.2013.31004'];
console.log(
  '| set | asked | inside 95 % | median bias | median error | median width |\n| --- | --- | --- | --- | --- | --- |',
);
for (const one of [...DOIS.map(pipesOf), fifthPower(), ...stepsCut()]) {
  const percents = [one.bias_percent, one.error_percent, one.width_percent].map(
    (value) => `${value.toFixed(1)} %`,
  );
  console.log(`| ${[one.set, one.asked, one.inside, ...percents].join(' | ')} |`);
}
for (const doi of DOIS) console.log(doi, crossings(doi));
for (const result of [repeats(), finCounts()]) {
  for (const { cooler, rise_K, tiers } of result.loads[0].order)
    console.log(cooler, rise_K.toFixed(2), tiers.join(''));
}
