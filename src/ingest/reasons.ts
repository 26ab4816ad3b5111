/**
 * Why something was not kept as a reading. The words are stable: they are counted, stored and shown; the sentence
 * beside them is for the grower and says what was expected and what came.
 */
export const REASONS = [
  'no-mapping',
  'empty-payload',
  'payload-too-large',
  'invalid-utf8',
  'malformed-json',
  'unexpected-type',
  'too-deep',
  'batch-too-large',
  'missing-field',
  'not-a-number',
  'not-finite',
  'no-reading-code',
  'out-of-range',
  'unknown-unit',
  'bad-timestamp',
  'retained-no-time',
  'sensor-name',
  'unknown-place',
  'senml-version',
  'senml-must-understand',
  'senml-invalid',
  'sparkplug-decode',
  'unknown-alias',
  'seq-gap',
  'bad-quality',
  'not-storable',
] as const;
export type Reason = (typeof REASONS)[number];

export interface Fault {
  readonly reason: Reason;
  readonly sentence: string;
  /** Where in the message: a JSON pointer, the number of a record, a name. */
  readonly where?: string;
}

export const fault = (reason: Reason, sentence: string, where?: string): Fault =>
  where === undefined ? { reason, sentence } : { reason, sentence, where };

/** What came, short enough to be quoted in a sentence. */
export function quoted(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (typeof value === 'number' && !Number.isFinite(value)) return 'a number too large to be written';
  let text: string;
  try {
    text = JSON.stringify(value) ?? String(value);
  } catch {
    text = 'a value that cannot be shown';
  }
  return text.length > 60 ? `${text.slice(0, 57)}...` : text;
}

/** A number as a person would write it. */
export const plainNumber = (value: number): string =>
  Math.abs(value) >= 1e12 || (value !== 0 && Math.abs(value) < 1e-3)
    ? value.toPrecision(4)
    : String(Math.abs(value) >= 1e6 ? Number(value.toPrecision(4)) : Math.round(value * 1000) / 1000);
