import { defineConfig } from 'vitest/config';
import quick from './vitest.config.ts';

/** What takes longest: coverage studies, the notebooks, and the package as it is packed, installed and typed. */
export default defineConfig({
  ...quick,
  test: { ...quick.test, include: ['test/slow/**/*.test.ts'], exclude: [] },
});
