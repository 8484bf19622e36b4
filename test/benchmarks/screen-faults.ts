/**
 * Faults planted a whole mount at a time: how many are found, how often the cause is right, how many false alarms.
 *
 * Run: node test/benchmarks/run.mjs screen-faults [benches per kind] [first seed] [layouts]
 */
import { KINDS, LAYOUTS, plant, screenBench } from './screen-study.ts';

const [benches = '20', first = '1', ...layouts] = process.argv.slice(2);
for (const layout of layouts.length > 0 ? layouts : Object.keys(LAYOUTS)) {
  let mounts = 0;
  let falseAlarms = 0;
  let falseOutliers = 0;
  let elapsed = 0;
  const right: number[] = [];
  const lines: string[] = [];
  for (const [k, kind] of [...KINDS, undefined].entries()) {
    let large = 0;
    let found = 0;
    let correct = 0;
    let small = 0;
    let smallFound = 0;
    const named = new Map<string, number>();
    for (let b = 0; b < Number(benches); b++) {
      const { bench, cooler, sample, mount, sizes } = plant(layout, 10 * (Number(first) + b) + k, kind);
      const begin = performance.now();
      const result = screenBench(bench);
      elapsed += performance.now() - begin;
      for (const one of result.mounts) {
        const planted =
          kind !== undefined && one.cooler === cooler && one.sample === sample && one.mount === mount;
        if (!planted) {
          mounts++;
          if (one.verdict !== 'ok') falseAlarms++;
          if (one.verdict === 'outlier') falseOutliers++;
          if (one.verdict !== 'ok' && process.env.SHOW)
            console.log(
              '  false',
              layout,
              kind,
              Number(first) + b,
              `${one.cooler}/${one.sample}/${one.mount}`,
              one.p.toExponential(1),
              one.cause,
              'planted',
              cooler,
              sample,
              mount,
              sizes.toFixed(1),
            );
          continue;
        }
        if (sizes <= 6) {
          small++;
          if (one.verdict !== 'ok') smallFound++;
          continue;
        }
        large++;
        if (one.verdict === 'ok') {
          if (process.env.SHOW)
            console.log(
              '  missed',
              layout,
              kind,
              Number(first) + b,
              sizes.toFixed(1),
              one.p.toExponential(1),
              `${cooler}/${sample}/${mount}`,
            );
          continue;
        }
        found++;
        if (one.cause === kind) correct++;
        else if (process.env.SHOW)
          console.log(
            '  wrong',
            layout,
            kind,
            Number(first) + b,
            sizes.toFixed(1),
            one.causes
              .slice(0, 3)
              .map((c) => `${c.cause} ${c.probability.toFixed(3)}`)
              .join(', '),
          );
        named.set(String(one.cause), (named.get(String(one.cause)) ?? 0) + 1);
      }
    }
    if (kind === undefined) continue;
    if (large > 0) right.push(correct / large);
    lines.push(
      `  ${kind.padEnd(10)} over 6 sd: ${large}, found ${found}, cause right ${correct}; named ${[...named].map(([name, n]) => `${name} ${n}`).join(', ')}; smaller: ${smallFound} of ${small} found`,
    );
  }
  const average = right.reduce((sum, value) => sum + value, 0) / right.length;
  console.log(`${layout}: ${(elapsed / Number(benches) / 6).toFixed(0)} ms a bench`);
  for (const line of lines) console.log(line);
  console.log(
    `  cause right, mean over causes ${(100 * average).toFixed(1)} %; false alarms ${falseAlarms} (outliers ${falseOutliers}) of ${mounts} mounts = ${((100 * falseAlarms) / mounts).toFixed(2)} %`,
  );
}
