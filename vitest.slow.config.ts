import { defineConfig } from 'vitest/config';
import quick, { slow } from './vitest.config.ts';

/** What takes longest; see `slow`. */
export default defineConfig({
  ...quick,
  test: { ...quick.test, include: slow, exclude: ['**/node_modules/**'] },
});
