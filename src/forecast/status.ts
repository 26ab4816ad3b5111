import type { IssuedForecast } from '../domain/forecast.js';
import type { PullState } from '../storage/repositories.js';

/** How it stands with the outdoor forecast of a site. */
export interface ForecastStatus {
  /** not-set-up: no service is asked, and nobody handed one over lately. */
  readonly state: 'fresh' | 'old' | 'too-old' | 'none' | 'not-set-up';
  readonly source: string | null;
  readonly issuedAt: number | null;
  readonly ageHours: number | null;
  /** Last trouble of the services that are asked, in plain words. */
  readonly trouble: string | null;
  readonly troubleAt: number | null;
  /** For people, where they should know. */
  readonly warning: string | null;
}

const HOUR_MS = 3_600_000;
const OLD_AFTER_HOURS = 12;
/** Older ones say no more than the weather of the last days. */
const TOO_OLD_AFTER_HOURS = 36;
/** Whether an issue still says something of the time to come: it is not too old, and has not run out. */
export const isUsable = ({ issuedAt, hours }: Pick<IssuedForecast, 'issuedAt' | 'hours'>, now: number): boolean =>
  now - issuedAt <= TOO_OLD_AFTER_HOURS * HOUR_MS && !hasRunOut({ hours }, now);
const hasRunOut = ({ hours }: Pick<IssuedForecast, 'hours'>, now: number): boolean =>
  (hours.at(-1)?.at ?? 0) + HOUR_MS <= now;
/** Whether it is new enough to go before all others, and to need no warning. */
export const isFresh = ({ issuedAt }: Pick<IssuedForecast, 'issuedAt'>, now: number): boolean =>
  now - issuedAt <= OLD_AFTER_HOURS * HOUR_MS;

/** Who stopped handing forecasts over is asked about it for so long. */
const MISSED_DAYS = 14;

export function statusOf(
  newest: IssuedForecast | undefined,
  pulled: readonly { readonly name: string; readonly state: PullState | undefined }[],
  now: number,
): ForecastStatus {
  const troubled = pulled
    .flatMap(({ state }) => (state && state.trouble !== null ? [state] : []))
    .sort((a, b) => (b.troubleAt ?? 0) - (a.troubleAt ?? 0))[0];
  const ageHours = newest ? Math.max(0, (now - newest.issuedAt) / HOUR_MS) : null;
  const state = stateOf(newest, pulled.length > 0, now);
  return {
    state,
    source: newest?.source ?? null,
    issuedAt: newest?.issuedAt ?? null,
    ageHours,
    trouble: troubled?.trouble ?? null,
    troubleAt: troubled?.troubleAt ?? null,
    warning: warningOf(state, ageHours, newest !== undefined && hasRunOut(newest, now), troubled?.trouble ?? null),
  };
}

function stateOf(newest: IssuedForecast | undefined, asked: boolean, now: number): ForecastStatus['state'] {
  if (!newest) return asked ? 'none' : 'not-set-up';
  if (!asked && now - newest.issuedAt > MISSED_DAYS * 24 * HOUR_MS) return 'not-set-up';
  if (!isUsable(newest, now)) return 'too-old';
  return isFresh(newest, now) ? 'fresh' : 'old';
}

function warningOf(
  state: ForecastStatus['state'],
  ageHours: number | null,
  ranOut: boolean,
  trouble: string | null,
): string | null {
  const why = trouble === null ? '' : ` ${trouble}`;
  const age =
    ageHours === null ? '' : ageHours < 48 ? `${Math.round(ageHours)} hours` : `${Math.round(ageHours / 24)} days`;
  switch (state) {
    case 'old':
      return `The outdoor forecast is ${age} old and still in use.${why}`;
    case 'too-old':
      return `The outdoor forecast is ${age} old${ranOut ? ', has run out' : ''} and no longer used: coming days are taken to be like the last ones.${why}`;
    case 'none':
      return trouble === null ? null : `No outdoor forecast has come yet.${why}`;
    default:
      return null;
  }
}
