const SECOND_MS = 1000;
const MINUTE_MS = 60 * SECOND_MS;
const HOUR_MS = 60 * MINUTE_MS;

/**
 * Pauses after the first try, the second and so on: the schedule that the Standard Webhooks specification 1.0.0 gives as an
 * example, ended after a day and a half: what was to be done about an alert is past by then.
 */
export const RETRY_PAUSES_MS: readonly number[] = [
  5 * SECOND_MS,
  5 * MINUTE_MS,
  30 * MINUTE_MS,
  2 * HOUR_MS,
  5 * HOUR_MS,
  10 * HOUR_MS,
  14 * HOUR_MS,
];

/**
 * When to try again, UTC ms; null: never. Spread upward by as much as a fifth, so that what failed together does not come back together.
 * @param tries made so far, this one included
 * @param notBeforeMs how long the other side asks to be left alone
 * @param chance 0 up to 1
 */
export function nextTryAt(now: number, tries: number, notBeforeMs: number, chance: number): number | null {
  const pause = RETRY_PAUSES_MS[tries - 1];
  return pause === undefined ? null : now + Math.max(Math.round(pause * (1 + chance / 5)), notBeforeMs);
}
