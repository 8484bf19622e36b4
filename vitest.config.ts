import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['src/**/*.test.ts', 'test/**/*.test.ts'],
    exclude: ['test/benchmarks/**', 'test/slow/**', '**/node_modules/**'],
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
