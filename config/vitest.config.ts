import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';
import ClosingLine from './closing-line.js';

export default defineConfig({
  root: fileURLToPath(new URL('..', import.meta.url)),
  test: {
    include: ['tests/**/*.test.ts', 'tests/**/*.test.tsx'],
    // Two workers: the machines this is developed and checked on have two cores, and several tests start brokers.
    maxWorkers: 2,
    reporters: ['default', new ClosingLine()],
    testTimeout: 30_000,
    hookTimeout: 60_000,
    // A test that needs a zone names it; a test that forgets to is caught by an unusual default.
    env: { TZ: 'Pacific/Chatham' },
  },
});
