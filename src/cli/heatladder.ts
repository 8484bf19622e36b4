#!/usr/bin/env node
import module from 'node:module';
import { leastNode } from './version.ts';

const BAD_INPUT = 2;

/** Numbers of a version, as 20.19.0, one by one. */
const older = (version: string, least: string): boolean => {
  const [has, needs] = [version, least].map((text) => text.split('.').map(Number));
  const differs = needs.findIndex((part, i) => has[i] !== part);
  return differs >= 0 && has[differs] < needs[differs];
};

// What follows is loaded only where it can be read: an older Node stops at its syntax, with a stack trace.
if (older(process.versions.node, leastNode)) {
  process.stderr.write(
    `heatladder: this is Node.js ${process.versions.node}; install Node.js ${leastNode} or newer\n`,
  );
  process.exitCode = BAD_INPUT;
} else {
  // Node 22 and newer keep what they compiled for the next start.
  (module as { enableCompileCache?: () => void }).enableCompileCache?.();
  const [{ run }, { standardOutput, tell }] = await Promise.all([import('./run.ts'), import('./output.ts')]);
  process.exitCode = await run(process.argv.slice(2), { output: standardOutput(), fault: tell });
}
