import { describe, expect, it } from 'vitest';
import { caseFailures, whatIf } from '../../src/advice/what-if.js';
import { readCases, traceLines } from '../../src/app/commands/rules.js';
import { coverageText, rowCoverage, uncovered } from '../../src/rules/coverage.js';
import { catalogue, context, ownCases, rulebook } from '../rules/support.js';
import { sharedVerification } from '../support/shared-data.js';

describe('decision cases', () => {
  it.each(ownCases.map((one) => [`${one.file} ${one.id} ${one.note ?? ''}`, one] as const))('%s', (_, one) => {
    const answer = whatIf(one.given, context);
    expect(caseFailures(one.expect, answer), traceLines(answer).join('\n')).toEqual([]);
  });

  it('come from every species group, both hemispheres and every phase, each with its source', () => {
    const given = ownCases.map((one) => one.given as Record<string, Record<string, unknown>>);
    const groups = new Set<unknown>(given.map((one) => one.group));
    expect([...catalogue.speciesGroups.map((group) => group.id)].filter((id) => !groups.has(id))).toEqual([]);
    const south = given.filter((one) => Number(one.on?.latitude) < 0).length;
    expect(south).toBeGreaterThanOrEqual(20);
    expect(given.length - south).toBeGreaterThanOrEqual(60);
    expect(new Set(given.map((one) => one.plant?.stage ?? one.plant?.phase)).size).toBeGreaterThanOrEqual(9);
    expect(new Set(ownCases.map((one) => one.id)).size).toBe(ownCases.length);
  });

  it('pass when they are those shared with outside checks', () => {
    const path = sharedVerification('decision-cases.yaml');
    if (path === undefined) return;
    const failed = readCases(path).flatMap((one) =>
      caseFailures(one.expect, whatIf(one.given, context)).map((failure) => `${one.id}: ${failure}`),
    );
    expect(failed).toEqual([]);
  });
});

describe('row coverage', () => {
  it('meets every row of the rulebook at least once, and at least once not', () => {
    const coverage = rowCoverage(
      rulebook,
      ownCases.map((one) => whatIf(one.given, context).trace),
    );
    expect(uncovered(coverage), coverageText(coverage)).toEqual([]);
  });
});
