/**
 * Damages every kind of file, formula and option that is read, many times over, and counts how it ends:
 * node test/benchmarks/run.mjs fuzz [inputs] [seed]
 *
 * The readers run in a process of their own in which text cannot be made code; a process that is silent for 20 s is
 * taken for hung (FUZZ_TRACE=FILE keeps the input it is at). Ends with status 1 on the first crash, with what caused it, or where one input took more than 2 s.
 */
import { fork } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import fc from 'fast-check';
import { loadUnitConverter } from '../../src/bench/mathjs-units.ts';
import { registerUnitConverter } from '../../src/bench/quantity.ts';
import { targets } from '../hardening/targets.ts';
import { runOn } from '../hardening/watch.ts';

const SILENCE_ms = 20_000;
const SLOWEST_ms = 2000;
const [inputs = '100000', seed = '1', role = 'parent'] = process.argv.slice(2);

interface Tally {
  target: string;
  inputs: number;
  read: number;
  refused: number;
  slowest_ms: number;
  crashes: number;
}

/** An input as text: the files of a folder one after the other. */
function shownInput(input: unknown): string {
  if (input instanceof Uint8Array) return Buffer.from(input).toString();
  if (input instanceof Map) {
    return Array.from(
      input as Map<string, Uint8Array>,
      ([name, bytes]) => `== ${name}\n${Buffer.from(bytes)}`,
    ).join('\n');
  }
  return String(input);
}

async function child(): Promise<void> {
  registerUnitConverter(await loadUnitConverter());
  for (const target of targets(process.cwd())) {
    const tally: Tally = { target: target.name, inputs: 0, read: 0, refused: 0, slowest_ms: 0, crashes: 0 };
    const count = Math.max(1, Math.round(Number(inputs) * target.share));
    let slowest: unknown;
    const details = fc.check(
      fc.property(target.input, (input) => {
        if (tally.inputs % 200 === 0) process.send?.({ beat: target.name });
        if (process.env.FUZZ_TRACE) writeFileSync(process.env.FUZZ_TRACE, shownInput(input));
        const { outcome, milliseconds } = runOn(target, input);
        tally.inputs++;
        tally[outcome]++;
        if (milliseconds > tally.slowest_ms) {
          tally.slowest_ms = milliseconds;
          slowest = input;
        }
      }),
      { numRuns: count, seed: Number(seed), endOnFailure: true },
    );
    if (details.failed) {
      tally.crashes++;
      const shown = shownInput(details.counterexample?.[0]).slice(0, 8000);
      process.send?.({ crash: target.name, shown, error: String((details.errorInstance as Error)?.stack) });
    }
    if (tally.slowest_ms > SLOWEST_ms) {
      const file = join(tmpdir(), `slow-${target.name.replaceAll(' ', '-')}`);
      writeFileSync(file, shownInput(slowest));
    }
    process.send?.({ tally });
  }
}

function parent(): void {
  const started = performance.now();
  const reader = fork(fileURLToPath(import.meta.url), [inputs, seed, 'child'], {
    execArgv: ['--enable-source-maps', '--disallow-code-generation-from-strings'],
  });
  let last = 'start';
  let silence = setTimeout(() => {}, 0);
  const wait = () => {
    clearTimeout(silence);
    silence = setTimeout(() => {
      console.log(`HUNG on ${last}`);
      process.exitCode = 1;
      reader.kill('SIGKILL');
    }, SILENCE_ms);
  };
  const tallies: Tally[] = [];
  reader.on(
    'message',
    (message: { beat?: string; tally?: Tally; crash?: string; shown?: string; error?: string }) => {
      wait();
      if (message.beat) last = message.beat;
      if (message.crash) console.log(`CRASH in ${message.crash}\n${message.error}\n${message.shown}\n`);
      if (message.tally) tallies.push(message.tally);
    },
  );
  reader.on('exit', (code) => {
    clearTimeout(silence);
    console.log('target                         inputs     read  refused  crashes  slowest');
    for (const one of tallies) {
      console.log(
        `${one.target.padEnd(28)} ${String(one.inputs).padStart(8)} ${String(one.read).padStart(8)} ${String(one.refused).padStart(8)} ${String(one.crashes).padStart(8)} ${one.slowest_ms.toFixed(0).padStart(6)} ms`,
      );
    }
    const total = tallies.reduce((sum, one) => sum + one.inputs, 0);
    const crashes = tallies.reduce((sum, one) => sum + one.crashes, 0);
    const slowest = Math.max(0, ...tallies.map((one) => one.slowest_ms));
    const { userCPUTime } = process.resourceUsage();
    console.log(
      `${total} inputs, ${crashes} crashes, slowest ${slowest.toFixed(0)} ms, ${((performance.now() - started) / 1000).toFixed(0)} s in all (${(userCPUTime / 1e6).toFixed(1)} s here)`,
    );
    if (code !== 0 || crashes > 0 || slowest > SLOWEST_ms) process.exitCode = 1;
  });
  wait();
}

if (role === 'child') await child();
else parent();
