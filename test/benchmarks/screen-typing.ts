import { readBench } from '../../src/bench/read-bench.ts';
import { demoBench } from '../../src/demo/init.ts';
import { screen } from '../../src/screening/screen.ts';

const { files } = demoBench();
const csv = new TextDecoder().decode(files.get('runs.csv')!);
const lines = csv.trimEnd().split('\n');
const head = lines[0].split(',');
const col = (n: string) => head.indexOf(n);
const P = col('power_W'),
  F = col('fan_rpm'),
  S = col('source_C'),
  A = col('ambient_C');
console.log(lines[0]);
console.log(lines[13]);
console.log(lines[14]);
const edits: [string, number, (c: string[], up: string[]) => void][] = [
  [
    'power decimal',
    13,
    (c) => {
      c[P] = String(Number(c[P]) * 10);
    },
  ],
  [
    'source decimal',
    20,
    (c) => {
      c[S] = String(Math.round(Number(c[S]) * 10));
    },
  ],
  [
    'source exchanged',
    31,
    (c) => {
      c[S] = c[S][1] + c[S][0] + c[S].slice(2);
    },
  ],
  [
    'source digit dropped',
    25,
    (c) => {
      c[S] = c[S].slice(1);
    },
  ],
  [
    'source doubled',
    42,
    (c) => {
      c[S] = c[S][0] + c[S];
    },
  ],
  [
    'power exchanged',
    17,
    (c) => {
      c[P] = c[P][1] + c[P][0] + c[P].slice(2);
    },
  ],
  [
    'power dropped',
    36,
    (c) => {
      c[P] = c[P].slice(1);
    },
  ],
  [
    'power<->rpm',
    27,
    (c) => {
      [c[P], c[F]] = [c[F], c[P]];
    },
  ],
  [
    'rpm decimal',
    15,
    (c) => {
      c[F] = `${c[F]}0`;
    },
  ],
  [
    'rpm dropped',
    15,
    (c) => {
      c[F] = c[F].slice(0, -1);
    },
  ],
  [
    'rpm exchanged',
    30,
    (c) => {
      c[F] = c[F][1] + c[F][0] + c[F].slice(2);
    },
  ],
  [
    'ambient = above source',
    22,
    (c, up) => {
      c[A] = up[S];
    },
  ],
  [
    'ambient decimal',
    23,
    (c) => {
      c[A] = String(Number(c[A]) / 10);
    },
  ],
  [
    'ambient exchanged',
    33,
    (c) => {
      c[A] = `${c[A].slice(0, 1) + c[A].slice(3, 4)}.${c[A].slice(1, 2)}`;
    },
  ],
  [
    'source<->ambient',
    28,
    (c) => {
      [c[S], c[A]] = [c[A], c[S]];
    },
  ],
  ['twice', 40, () => {}],
];
const only = process.argv[2];
for (const [what, at, edit] of edits) {
  if (only && !what.includes(only)) continue;
  const rows = lines.map((l) => l.split(','));
  const before = rows[at].join(',');
  if (what === 'twice') rows.push(['r999', ...rows[at].slice(1)]);
  else edit(rows[at], rows[at - 1]);
  const made = new Map(files);
  made.set('runs.csv', new TextEncoder().encode(`${rows.map((r) => r.join(',')).join('\n')}\n`));
  try {
    const t = performance.now();
    const bench = readBench(made);
    const r = screen(bench);
    const bad = r.runs
      .filter((x) => x.verdict !== 'ok')
      .map(
        (x) =>
          `${x.run} ${x.verdict} p ${x.p.toExponential(1)} ${x.residual_K.toFixed(1)} ${x.cause} ${x.cause_probability?.toFixed(2)} ${JSON.stringify(x.typing ?? '')}`,
      );
    console.log(
      `${what}: ${before} -> ${rows[at].join(',')}\n   runs ${bad.join(' | ')}; mounts ${r.mounts.filter((x) => x.verdict !== 'ok').map((x) => `${x.cooler}/${x.sample}/${x.mount} ${x.cause}`)} ${bench.warnings.join(' ! ')} ${(performance.now() - t).toFixed(0)} ms`,
    );
  } catch (e) {
    console.log(`${what}: ${before} -> ${rows[at].join(',')}\n   REFUSED ${(e as Error).message}`);
  }
}
