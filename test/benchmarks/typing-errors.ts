/** Typing errors of ten kinds and more, each in one row of the demo bench's runs.csv. */

import type { Bench } from '../../src/bench/bench.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { demoBench } from '../../src/lab/demo-bench.ts';

const { files } = demoBench();
const lines = new TextDecoder().decode(files.get('runs.csv')!).trimEnd().split('\n');
const head = lines[0].split(',');
const [P, F, S, A] = ['power_W', 'fan_rpm', 'source_C', 'ambient_C'].map((name) => head.indexOf(name));

interface Planted {
  readonly what: string;
  /** Line of the row below the header, so that line 1 is the first run. */
  readonly line: number;
  readonly change: (cells: string[], above: readonly string[]) => void;
  /** The run that is wrong. */
  readonly run: string;
  readonly bench: () => Bench;
  readonly before: string;
}

function planted(
  what: string,
  line: number,
  change: (cells: string[], above: readonly string[]) => void,
): Planted {
  const rows = lines.map((row) => row.split(','));
  const before = rows[line].join(',');
  const run = rows[line][head.indexOf('run')];
  if (what === 'entered twice') rows.push(['again', ...rows[line].slice(1)]);
  else change(rows[line], rows[line - 1]);
  const made = new Map(files);
  made.set('runs.csv', new TextEncoder().encode(`${rows.map((cells) => cells.join(',')).join('\n')}\n`));
  return {
    what,
    line,
    change,
    run: what === 'entered twice' ? 'again' : run,
    before,
    bench: () => readBench(made),
  };
}

/** The reader itself refuses two of them, whose source would be below ambient. */
export const TYPING_ERRORS: readonly Planted[] = (
  [
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
      (c: string[], up: readonly string[]) => {
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
    ['entered twice', 40, () => {}],
  ] as [string, number, (c: string[], up: readonly string[]) => void][]
).map(([what, line, change]) => planted(what, line, change));
