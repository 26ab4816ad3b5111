import { join, resolve } from 'node:path';
import { z } from 'zod';
import {
  caseFailures,
  decisionCaseSchema,
  type WhatIfAnswer,
  type WhatIfContext,
  whatIf,
} from '../../advice/what-if.js';
import { LeafturnError, problemLine } from '../../domain/errors.js';
import { factsDocument } from '../../domain/facts.js';
import { schemaProblems } from '../../domain/problems.js';
import type { Trace, TraceRow } from '../../domain/verdict.js';
import { checkRules } from '../../rules/check.js';
import { coverageText, rowCoverage } from '../../rules/coverage.js';
import { inWords, quantityInWords } from '../../rules/words.js';
import { loadCatalogue } from '../config/catalogue.js';
import { PACKAGE_CONFIG } from '../config/paths.js';
import { loadRulebook, loadRulebookFile } from '../config/rulebook.js';
import { readYamlFile } from '../config/yaml-file.js';
import { EXIT } from './exit-codes.js';
import { type CommandIo, print } from './io.js';

export interface RulesOptions {
  /** Another rulebook than the one that comes with leafturn. */
  readonly rulebook?: string;
  /** Another catalogue folder. */
  readonly catalogue?: string;
  /** Show which rows the cases meet and do not meet. */
  readonly coverage?: boolean;
}

/** `leafturn rules facts`: everything a rule can see, as a table. */
export async function listFacts(io: CommandIo): Promise<number> {
  print(io, factsDocument().trimEnd());
  return EXIT.ok;
}

/** `leafturn rules check FILE`: everything that is wrong with a rulebook, with its place and how to mend it. */
export async function checkRulebook(file: string, options: RulesOptions, io: CommandIo): Promise<number> {
  const path = resolve(io.workingFolder, file);
  const rulebook = loadRulebookFile(path);
  const { located } = readYamlFile(path, 'The rulebook');
  const findings = checkRules(rulebook, catalogueOf(options, io));
  for (const finding of findings) print(io, problemLine(located(finding)));
  const rows = Object.values(rulebook.tables).reduce((sum, table) => sum + table.rows.length, 0);
  print(
    io,
    `${rulebook.name}, revision ${rulebook.revision}: ${rows} rows, ${rulebook.limits.size} limits. ${
      findings.length === 0 ? 'No mistakes.' : `${findings.length} to mend.`
    }`,
  );
  return findings.length === 0 ? EXIT.ok : EXIT.checkFailed;
}

/** `leafturn rules test FILE...`: decision cases against a rulebook; failing ones with their trace. */
export async function testRules(files: readonly string[], options: RulesOptions, io: CommandIo): Promise<number> {
  const context: WhatIfContext = {
    rulebook: options.rulebook
      ? loadRulebookFile(resolve(io.workingFolder, options.rulebook))
      : loadRulebook(join(PACKAGE_CONFIG, 'rulebook')),
    catalogue: catalogueOf(options, io),
  };
  let passed = 0;
  let failed = 0;
  const traces: Trace[] = [];
  for (const name of files) {
    for (const one of readCases(resolve(io.workingFolder, name))) {
      const { failures, answer } = tried(one, context);
      if (answer) traces.push(answer.trace);
      if (failures.length === 0) passed += 1;
      else {
        failed += 1;
        print(io, `${name}: ${one.id} failed`);
        for (const failure of failures) print(io, `  ${failure}`);
        if (answer) for (const line of traceLines(answer)) print(io, `  ${line}`);
      }
    }
  }
  if (options.coverage) print(io, coverageText(rowCoverage(context.rulebook, traces)));
  print(io, `${passed} passed, ${failed} failed`);
  return failed === 0 ? EXIT.ok : EXIT.checkFailed;
}

const catalogueOf = (options: RulesOptions, io: CommandIo) =>
  loadCatalogue(options.catalogue ? resolve(io.workingFolder, options.catalogue) : join(PACKAGE_CONFIG, 'catalogue'));

const casesSchema = z.array(decisionCaseSchema).min(1);

export function readCases(path: string): z.infer<typeof casesSchema> {
  const file = readYamlFile(path, 'The file of cases');
  const parsed = casesSchema.safeParse(file.content);
  if (parsed.success) return parsed.data;
  throw new LeafturnError(
    'invalid-input',
    `${path} is not a file of decision cases.`,
    schemaProblems(casesSchema, file.content, parsed.error).map(file.located),
  );
}

function tried(
  one: z.infer<typeof decisionCaseSchema>,
  context: WhatIfContext,
): { failures: readonly string[]; answer?: WhatIfAnswer } {
  try {
    const answer = whatIf(one.given, context);
    return { failures: caseFailures(one.expect, answer), answer };
  } catch (error) {
    if (!(error instanceof LeafturnError)) throw error;
    return { failures: [error.message, ...error.problems.map(problemLine)] };
  }
}

const MARKS = { yes: 'met', no: 'not met', unknown: 'unknown' } as const;

/** The verdict with every row that was met or could not be settled. */
export function traceLines(answer: WhatIfAnswer): string[] {
  return [
    `says: ${answer.sentence}`,
    `decided by ${answer.decidedBy.table}/${answer.decidedBy.row}`,
    ...answer.trace.filter((row) => row.met !== 'no').flatMap(rowLines),
  ];
}

function rowLines(row: TraceRow): string[] {
  const of = row.of ? ` (${row.of})` : '';
  const effect = row.effect ? `: ${row.effect}` : '';
  return [
    `${row.table}/${row.row}${of} ${MARKS[row.met]}${effect}`,
    ...row.conditions.map((one) => {
      const actual = one.actual === null ? 'not known' : quantityInWords(one.actual, one.unit);
      const limit = Array.isArray(one.limit)
        ? one.limit.map((word) => (typeof word === 'string' ? inWords(word) : String(word))).join(', ')
        : quantityInWords(one.limit as string | number | boolean | null, one.unit);
      return `    ${one.fact} ${one.op.replaceAll('-', ' ')} ${limit}: ${actual}, ${MARKS[one.met]}`;
    }),
  ];
}
