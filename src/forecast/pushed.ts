import { z } from 'zod';
import { LeafturnError, type Problem } from '../domain/errors.js';
import type { ForecastHour, IssuedForecast } from '../domain/forecast.js';
import { schemaProblems } from '../domain/problems.js';
import type { Site } from '../domain/site.js';
import { parseInstant } from '../domain/time.js';
import { DEFAULT_LIMITS, decodeJson, payloadFault } from '../ingest/decode.js';
import { FORECAST_VALUES, type ForecastValue, isInstant, tidyHours, Unreadable } from './tidy.js';

/** A forecast that somebody else's program hands to the service, over REST or MQTT. */

const instant = z
  .union([z.number().int(), z.string().min(1).max(40)])
  .describe(
    'A date-time such as 2026-10-25T06:00:00Z, or milliseconds UTC; without an offset by the clock of the site.',
  );

const limited = (name: ForecastValue) => {
  const { limits, meaning } = FORECAST_VALUES[name];
  return z.number().min(limits[0]).max(limits[1]).nullable().optional().describe(meaning);
};

export const pushedForecastSchema = z.strictObject({
  issuedAt: instant.optional().describe('When the forecast was made; left out: now.'),
  source: z
    .string()
    .trim()
    .min(1)
    .max(80)
    .optional()
    .describe('Who made it, as people read it; left out: who sends it.'),
  hours: z
    .array(
      z.strictObject({
        at: instant.describe('Start of the hour: a full hour UTC.'),
        airTempC: limited('airTempC'),
        relHumidityPct: limited('relHumidityPct'),
        radiationWm2: limited('radiationWm2'),
        cloudPct: limited('cloudPct'),
        windMs: limited('windMs'),
        rainMm: limited('rainMm'),
      }),
    )
    .min(1)
    .max(400),
});
export type PushedForecast = z.infer<typeof pushedForecastSchema>;

export interface Push {
  readonly site: Site;
  /** Who sends it, where the body names no source. */
  readonly by: string;
  readonly receivedAt: number;
  /** Names of the services that are asked: nobody else may speak as one of them. */
  readonly pulledNames: readonly string[];
}

/** Clocks of two machines differ; a forecast from further ahead has a wrong time. */
const AHEAD_MS = 10 * 60_000;

/**
 * @throws LeafturnError `invalid-input` with JSON pointers to what cannot be true
 */
export function forecastFromPush(body: PushedForecast, { site, by, receivedAt, pulledNames }: Push): IssuedForecast {
  const problems: Problem[] = [];
  const read = (given: string | number, path: string): number => {
    const at = typeof given === 'number' ? given : parseInstant(given, site.zone);
    if (isInstant(at)) return at;
    problems.push({ path, expected: 'a time such as 2026-10-25T06:00:00Z', got: JSON.stringify(given) });
    return 0;
  };
  const given = body.issuedAt === undefined ? receivedAt : read(body.issuedAt, '/issuedAt');
  if (given > receivedAt + AHEAD_MS)
    problems.push({
      path: '/issuedAt',
      expected: `a time that has come, at most ${new Date(receivedAt).toISOString()}`,
      got: new Date(given).toISOString(),
      mend: 'Set the clock of the sender, or leave issuedAt out.',
    });
  const source = body.source ?? by;
  if (pulledNames.includes(source))
    problems.push({
      path: '/source',
      expected: 'a name that no service of forecast.pulled has',
      got: source,
      mend: 'Take another name: the two are told apart by it.',
    });
  const hours = body.hours.map(
    (hour, index): ForecastHour => ({
      at: read(hour.at, `/hours/${index}/at`),
      airTempC: hour.airTempC ?? null,
      relHumidityPct: hour.relHumidityPct ?? null,
      radiationWm2: hour.radiationWm2 ?? null,
      cloudPct: hour.cloudPct ?? null,
      windMs: hour.windMs ?? null,
      rainMm: hour.rainMm ?? null,
    }),
  );
  const issuedAt = Math.min(given, receivedAt);
  const tidied = problems.length === 0 ? tidiedHours(hours, issuedAt, receivedAt, problems) : [];
  if (problems.length > 0) throw new LeafturnError('invalid-input', 'The forecast cannot be used.', problems);
  return { siteId: site.id, source, issuedAt, receivedAt, hours: tidied };
}

function tidiedHours(
  hours: readonly ForecastHour[],
  issuedAt: number,
  now: number,
  problems: Problem[],
): ForecastHour[] {
  try {
    return tidyHours(hours, issuedAt, now);
  } catch (error) {
    if (!(error instanceof Unreadable)) throw error;
    problems.push({
      path: '/hours',
      expected: 'hours to come in UTC, each once, with an air temperature',
      got: 'something else',
      mend: error.message,
    });
    return [];
  }
}

/**
 * A message of MQTT: the same body as JSON.
 * @throws LeafturnError `invalid-input` with everything that is wrong
 */
export function parsePushed(payload: Buffer): PushedForecast {
  const decoded = decodeJson(payload, DEFAULT_LIMITS);
  const fault = payloadFault(payload, DEFAULT_LIMITS) ?? (decoded.ok ? undefined : decoded.fault);
  if (!decoded.ok || fault) throw new LeafturnError('invalid-input', fault?.sentence ?? 'The message cannot be read.');
  const result = pushedForecastSchema.safeParse(decoded.value);
  if (result.success) return result.data;
  throw new LeafturnError(
    'invalid-input',
    'The message is no forecast.',
    schemaProblems(pushedForecastSchema, decoded.value, result.error),
  );
}
