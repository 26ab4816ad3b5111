import type { FastifyReply, FastifyRequest } from 'fastify';
import { type ErrorCode, LeafturnError, type Problem } from '../domain/errors.js';

/** What can go wrong in an answer of the API: its address, its status, and what to do about it. */
export interface ProblemKind {
  readonly status: number;
  readonly title: string;
  readonly mend: string;
}

/** Problems of the API itself stand beside the error codes of the service. */
export const PROBLEM_KINDS = {
  'invalid-request': {
    status: 400,
    title: 'The request is not in the expected form.',
    mend: 'Each of `errors` names the field, what was expected and what came.',
  },
  'invalid-input': {
    status: 422,
    title: 'The request is in good form, but cannot be true.',
    mend: 'Each of `errors` names the field, what was expected and what came. Nothing was entered.',
  },
  unauthenticated: {
    status: 401,
    title: 'A token is needed.',
    mend: 'Send `Authorization: Bearer <token>`. The owner makes tokens with `leafturn token add`.',
  },
  forbidden: {
    status: 403,
    title: 'This is not allowed.',
    mend: 'Ask the owner for a token with the role that `detail` names.',
  },
  'not-found': {
    status: 404,
    title: 'There is nothing at this address.',
    mend: 'Look the id up in the list it belongs to.',
  },
  conflict: {
    status: 409,
    title: 'This contradicts what has been entered.',
    mend: 'Each of `errors` says what stands against it and what to do first.',
  },
  'already-ended': {
    status: 409,
    title: 'The batch is no longer there.',
    mend: 'If it ended by mistake, undo the entry that ended it.',
  },
  'idempotency-key-missing': {
    status: 400,
    title: 'A write needs the header Idempotency-Key.',
    mend: 'Send a new random value with each new write, and the same value when you repeat it.',
  },
  'idempotency-key-reused': {
    status: 422,
    title: 'This Idempotency-Key came before with another request.',
    mend: 'Use a new key for a new write.',
  },
  'idempotency-key-running': {
    status: 409,
    title: 'The first request with this Idempotency-Key is still being worked on.',
    mend: 'Repeat the request after a second: it gets the answer of the first.',
  },
  'body-too-large': {
    status: 413,
    title: 'The body is too large.',
    mend: 'Send it in several requests.',
  },
  'media-type': {
    status: 415,
    title: 'The body must be JSON.',
    mend: 'Send `Content-Type: application/json`.',
  },
  'too-many-requests': {
    status: 429,
    title: 'Too many requests.',
    mend: 'Wait for the seconds in the header Retry-After.',
  },
  internal: {
    status: 500,
    title: 'Something broke on our side.',
    mend: 'The log of the service tells more; look for the request id.',
  },
  'database-failed': {
    status: 500,
    title: 'The database could not do it.',
    mend: 'The log of the service tells more; look for the request id.',
  },
  'file-failed': {
    status: 500,
    title: 'A file could not be read or written.',
    mend: 'The log of the service tells more; look for the request id.',
  },
  'not-ready': {
    status: 503,
    title: 'The service cannot take this now.',
    mend: 'Try again after the seconds in the header Retry-After.',
  },
  'broker-failed': {
    status: 503,
    title: 'The message broker cannot be reached.',
    mend: 'Look at /readyz for the reason.',
  },
  'database-busy': {
    status: 503,
    title: 'The database is busy.',
    mend: 'Repeat the request with the same Idempotency-Key.',
  },
  'database-full': {
    status: 507,
    title: 'The disk is full.',
    mend: 'Free some space. Nothing that was entered before is lost.',
  },
} as const satisfies Record<string, ProblemKind>;
export type ProblemCode = keyof typeof PROBLEM_KINDS;

export const PROBLEM_MEDIA_TYPE = 'application/problem+json; charset=utf-8';
export const problemAddress = (code: ProblemCode): string => `/api/v1/problems/${code}`;

/** One thing wrong with a request. Exactly one of pointer, parameter and header says where. */
export interface FieldError {
  /** JSON pointer into the body, as a URI fragment. */
  readonly pointer?: string;
  /** Name in the path or the query. */
  readonly parameter?: string;
  readonly header?: string;
  readonly expected: string;
  readonly got: string;
  /** All of it as one sentence. */
  readonly detail: string;
}

/** Where in a request a problem's path leads. */
export type RequestPart = 'body' | 'querystring' | 'params' | 'headers';

/** An error of the API: becomes an RFC 9457 problem. */
export class HttpProblem extends Error {
  readonly code: ProblemCode;
  /** Fastify and its plugins read the status here, and Fastify sets it anew. */
  statusCode: number;
  readonly errors: readonly FieldError[];
  readonly headers: Readonly<Record<string, string>>;

  constructor(
    code: ProblemCode,
    detail: string,
    errors: readonly FieldError[] = [],
    headers: Readonly<Record<string, string>> = {},
  ) {
    super(detail);
    this.name = 'HttpProblem';
    this.code = code;
    this.statusCode = PROBLEM_KINDS[code].status;
    this.errors = errors;
    this.headers = headers;
  }
}

const escaped = (pointer: string): string => encodeURI(pointer).replaceAll('#', '%23');

export function fieldError(problem: Problem, part: RequestPart = 'body'): FieldError {
  const name = problem.path.split('/')[1] ?? '';
  const where =
    part === 'body'
      ? { pointer: `#${escaped(problem.path)}` }
      : part === 'headers'
        ? { header: name }
        : { parameter: name };
  const place = part === 'body' ? (problem.path === '' ? 'The body' : problem.path) : name;
  const { expected, got, mend } = problem;
  return {
    ...where,
    expected,
    got,
    detail: `${place}: expected ${expected}, got ${got}.${mend ? ` ${mend}` : ''}`,
  };
}

/** A request that is not in the expected form. */
export const invalidRequest = (problems: readonly Problem[], part: RequestPart): HttpProblem =>
  new HttpProblem(
    'invalid-request',
    `${problems.length === 1 ? 'One thing in the request is' : `${problems.length} things in the request are`} not as expected.`,
    problems.map((problem) => fieldError(problem, part)),
  );

export const notFound = (what: string, got: string, mend?: string): HttpProblem =>
  new HttpProblem('not-found', `There is no ${what} ${got}.${mend ? ` ${mend}` : ''}`);

const CODE_OF_ERROR: Partial<Record<ErrorCode, ProblemCode>> = {
  'database-too-old': 'database-failed',
  'migration-mismatch': 'database-failed',
};

/** The problem any error becomes. What we did not foresee says nothing of the inside. */
export function asProblem(error: unknown): HttpProblem {
  if (error instanceof HttpProblem) return error;
  if (error instanceof LeafturnError) {
    const code = CODE_OF_ERROR[error.code] ?? (error.code as ProblemCode);
    const hidden = PROBLEM_KINDS[code].status >= 500;
    return new HttpProblem(
      code,
      hidden ? PROBLEM_KINDS[code].title : error.message,
      hidden ? [] : error.problems.map((problem) => fieldError(problem)),
      PROBLEM_KINDS[code].status === 503 ? { 'retry-after': '2' } : {},
    );
  }
  return fromFramework(error);
}

function fromFramework(error: unknown): HttpProblem {
  const { code, statusCode, message } = error as { code?: string; statusCode?: number; message?: string };
  switch (code) {
    case 'FST_ERR_CTP_BODY_TOO_LARGE':
      return new HttpProblem('body-too-large', 'The body is larger than this service takes.');
    case 'FST_ERR_CTP_INVALID_MEDIA_TYPE':
      return new HttpProblem('media-type', 'The content type of the body is not application/json.');
    case 'FST_ERR_CTP_EMPTY_JSON_BODY':
      return invalidRequest([{ path: '', expected: 'JSON', got: 'nothing' }], 'body');
    case 'FST_ERR_CTP_INVALID_CONTENT_LENGTH':
      return invalidRequest(
        [{ path: '/content-length', expected: 'the length of the body', got: 'another' }],
        'headers',
      );
  }
  if (error instanceof SyntaxError && statusCode === 400)
    return invalidRequest([{ path: '', expected: 'JSON', got: `something else (${error.message})` }], 'body');
  if (code === 'FST_ERR_CTP_INVALID_JSON_BODY')
    return invalidRequest([{ path: '', expected: 'JSON', got: 'something else' }], 'body');
  if (statusCode !== undefined && statusCode >= 400 && statusCode < 500)
    return new HttpProblem('invalid-request', message ?? PROBLEM_KINDS['invalid-request'].title);
  return new HttpProblem('internal', PROBLEM_KINDS.internal.title);
}

/** The body of RFC 9457. */
export function problemDocument(problem: HttpProblem, request: FastifyRequest) {
  const kind: ProblemKind = PROBLEM_KINDS[problem.code];
  return {
    type: problemAddress(problem.code),
    title: kind.title,
    status: kind.status,
    detail: problem.message,
    instance: request.url.split('?', 1)[0] ?? request.url,
    requestId: request.id,
    ...(problem.errors.length > 0 && { errors: problem.errors }),
  };
}

export function sendProblem(problem: HttpProblem, request: FastifyRequest, reply: FastifyReply): FastifyReply {
  return reply
    .code(problem.statusCode)
    .headers(problem.headers)
    .header('cache-control', 'no-store')
    .type(PROBLEM_MEDIA_TYPE)
    .send(JSON.stringify(problemDocument(problem, request)));
}
