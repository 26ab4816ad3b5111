import { defineConfig } from 'vitest/config';

/** The tests that a mutant of the rules must not survive: those of the rules themselves, and the decision cases. */
export default defineConfig({
  test: {
    root: new URL('..', import.meta.url).pathname,
    include: ['tests/rules/**/*.test.ts', 'tests/rulebooks/**/*.test.ts'],
    testTimeout: 60_000,
    env: { TZ: 'Pacific/Chatham' },
  },
});
