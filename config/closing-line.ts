import type { Reporter, TestModule } from 'vitest/node';

/** Closes a test run with one plain line that people and machines read alike. */
export default class ClosingLine implements Reporter {
  onTestRunEnd(modules: ReadonlyArray<TestModule>): void {
    let passed = 0;
    let failed = 0;
    let leftOut = 0;
    for (const module of modules) {
      if (module.state() === 'failed' && [...module.children.allTests()].length === 0) failed += 1;
      for (const test of module.children.allTests()) {
        const state = test.result().state;
        if (state === 'passed') passed += 1;
        else if (state === 'failed') failed += 1;
        else leftOut += 1;
      }
    }
    console.log(`${passed} passed, ${failed} failed${leftOut > 0 ? `, ${leftOut} skipped` : ''}`);
  }
}
