import { defineConfig } from 'vitest/config';

/**
 * What `npm run test:slow` runs: studies, damaged input, killed and followed processes, every answer against the golden ones, fits inside the
 * page, the package as packed.
 */
export const slow = [
  'test/slow/**/*.test.ts',
  'test/golden/**/*.test.ts',
  'test/hardening/**/*.test.ts',
  'test/bench/mutated-bench.test.ts',
  'test/cli/nothing-lost.test.ts',
  'test/cli/watch.test.ts',
  'test/docs/commands.test.ts',
  'test/docs/examples.test.ts',
  'test/fit/chip-posterior.test.ts',
  'test/page/months.test.ts',
  'test/page/readers.test.ts',
  'test/published/propagation.test.ts',
];

export default defineConfig({
  test: {
    include: ['src/**/*.test.ts', 'test/**/*.test.ts'],
    exclude: ['test/benchmarks/**', '**/node_modules/**', ...slow],
    // Files of one worker share its modules: loading them anew for every file takes longer than the tests.
    isolate: false,
    pool: 'forks',
    maxWorkers: 2,
    testTimeout: 60_000,
    // Two busy cores take more than ten seconds to start a browser.
    hookTimeout: 60_000,
    reporters: ['default'],
  },
});
