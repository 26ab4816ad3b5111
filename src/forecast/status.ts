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
export const OLD_AFTER_HOURS = 12;
/** Older ones say no more than the weather of the last days. */
export const TOO_OLD_AFTER_HOURS = 36;
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
  const state = stateOf(newest, ageHours, pulled.length > 0);
  return {
    state,
    source: newest?.source ?? null,
    issuedAt: newest?.issuedAt ?? null,
    ageHours,
    trouble: troubled?.trouble ?? null,
    troubleAt: troubled?.troubleAt ?? null,
    warning: warningOf(state, ageHours, troubled?.trouble ?? null),
  };
}

function stateOf(newest: IssuedForecast | undefined, ageHours: number | null, asked: boolean): ForecastStatus['state'] {
  if (!newest || ageHours === null) return asked ? 'none' : 'not-set-up';
  if (!asked && ageHours > MISSED_DAYS * 24) return 'not-set-up';
  if (ageHours > TOO_OLD_AFTER_HOURS) return 'too-old';
  return ageHours > OLD_AFTER_HOURS ? 'old' : 'fresh';
}

function warningOf(state: ForecastStatus['state'], ageHours: number | null, trouble: string | null): string | null {
  const why = trouble === null ? '' : ` ${trouble}`;
  const age =
    ageHours === null ? '' : ageHours < 48 ? `${Math.round(ageHours)} hours` : `${Math.round(ageHours / 24)} days`;
  switch (state) {
    case 'old':
      return `The outdoor forecast is ${age} old and still in use.${why}`;
    case 'too-old':
      return `The outdoor forecast is ${age} old and no longer used: coming days are taken to be like the last ones.${why}`;
    case 'none':
      return trouble === null ? null : `No outdoor forecast has come yet.${why}`;
    default:
      return null;
  }
}
