import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['src/**/*.test.ts', 'test/**/*.test.ts'],
    exclude: ['test/benchmarks/**', 'node_modules/**'],
    testTimeout: 60_000,
    // Two busy cores take more than ten seconds to start a browser.
    hookTimeout: 60_000,
    reporters: ['default'],
  },
});
