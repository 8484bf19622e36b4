/**
 * Faults planted a whole mount at a time: how many are found, how often the cause is right, how many false alarms.
 *
 * Run: node test/benchmarks/run.mjs screen-faults [benches per kind] [first seed] [layouts]; SHOW=1 lists what went wrong
 */

import { screen } from '../../src/answers/screen.ts';
import type { MountVerdict } from '../../src/screen/screen-posterior.ts';
import { kindsOf, LAYOUTS, plant } from './screen-study.ts';

const [benches = '20', first = '1', ...layouts] = process.argv.slice(2);

function study(layout: string): void {
  let mounts = 0;
  let falseAlarms = 0;
  let alarmedBenches = 0;
  let elapsed = 0;
  const right: number[] = [];
  const lines: string[] = [];
  for (const [k, kind] of [...kindsOf(layout), undefined].entries()) {
    const count = { large: 0, found: 0, correct: 0, tied: 0, small: 0, smallFound: 0 };
    const named = new Map<string, number>();
    for (let b = 0; b < Number(benches); b++) {
      const seed = 10 * (Number(first) + b) + k;
      const planted = plant(layout, seed, kind);
      const begin = performance.now();
      const result = screen(planted.bench);
      elapsed += performance.now() - begin;
      const show = (what: string, one: MountVerdict) => {
        if (!process.env.SHOW) return;
        const causes = one.causes
          .slice(0, 3)
          .map(({ cause, probability }) => `${cause} ${probability.toFixed(3)}`);
        const where = `${one.cooler}/${one.sample}/${one.mount}`;
        console.log(
          `  ${layout} ${kind} seed ${seed}: ${what} ${where}, p ${one.p.toExponential(1)}, ${causes.join(', ')}`,
        );
      };
      if (kind === undefined && result.mounts.some((one) => one.verdict !== 'ok')) alarmedBenches++;
      for (const one of result.mounts) {
        const isStrange = one.verdict !== 'ok';
        const isPlanted =
          kind !== undefined &&
          one.cooler === planted.cooler &&
          one.sample === planted.sample &&
          one.mount === planted.mount;
        if (!isPlanted) {
          mounts++;
          if (!isStrange) continue;
          falseAlarms++;
          show('false alarm', one);
        } else if (planted.sizes() <= 6) {
          count.small++;
          if (isStrange) count.smallFound++;
        } else {
          count.large++;
          if (!isStrange) {
            show('missed', one);
            continue;
          }
          count.found++;
          const name = String(one.likely_cause);
          named.set(name, (named.get(name) ?? 0) + 1);
          const [a, b] = one.causes;
          if (
            new Set(['interface', 'pump', a.cause, b.cause]).size === 2 &&
            b.probability > 0.8 * a.probability
          )
            count.tied++;
          if (name === kind) count.correct++;
          else show('wrong cause', one);
        }
      }
    }
    if (kind === undefined) continue;
    if (count.large > 0) right.push(count.correct / count.large);
    const ties = count.tied > 0 ? `, ${count.tied} tied between interface and pump` : '';
    const names = [...named].map(([name, n]) => `${name} ${n}`).join(', ');
    lines.push(
      `  ${kind.padEnd(10)} over 6 sd: ${count.large}, found ${count.found}, cause right ${count.correct} (named ${names}${ties}); smaller: ${count.smallFound} of ${count.small} found`,
    );
  }
  const average = right.reduce((sum, value) => sum + value, 0) / right.length;
  console.log(`${layout}: ${(elapsed / Number(benches) / 6).toFixed(0)} ms a bench`);
  for (const line of lines) console.log(line);
  console.log(
    `  cause right, mean over causes ${(100 * average).toFixed(1)} %; false alarms ${falseAlarms} of ${mounts} mounts = ${((100 * falseAlarms) / mounts).toFixed(2)} %; healthy benches with one ${alarmedBenches} of ${benches}`,
  );
}

for (const layout of layouts.length > 0 ? layouts : Object.keys(LAYOUTS)) study(layout);
