/** One thing wrong with what was given: where, what was expected, what came, and how to mend it. */
export interface Problem {
  /** Where: a path such as `houses[2].cloths[0].shadePct`, or a JSON pointer in API answers. */
  readonly path: string;
  readonly expected: string;
  readonly got: string;
  readonly mend?: string;
}

/** Codes are stable: they appear in API answers, exit codes and logs. */
export const ERROR_CODES = [
  'invalid-input',
  'not-found',
  'conflict',
  'already-ended',
  'database-busy',
  'database-full',
  'database-failed',
  'database-too-old',
  'migration-mismatch',
  'broker-failed',
  'file-failed',
  'forbidden',
  'unauthenticated',
] as const;
export type ErrorCode = (typeof ERROR_CODES)[number];

/** The one error that crosses layers. `problems` says everything that is wrong at once. */
export class LeafturnError extends Error {
  readonly code: ErrorCode;
  readonly problems: readonly Problem[];

  constructor(code: ErrorCode, message: string, problems: readonly Problem[] = [], options?: ErrorOptions) {
    super(message, options);
    this.name = 'LeafturnError';
    this.code = code;
    this.problems = problems;
  }
}

/** One line a person can act on. */
export const problemLine = (problem: Problem): string =>
  `${problem.path || '(top)'}: expected ${problem.expected}, got ${problem.got}.${problem.mend ? ` ${problem.mend}` : ''}`;
