import { promisify } from 'node:util';
import { deflate, inflate } from 'node:zlib';
import type { ForecastHour } from '../domain/forecast.js';
import { HOUR_MS } from './roll-up.js';

const deflateAsync = promisify(deflate);
const inflateAsync = promisify(inflate);

const COLUMNS = ['airTempC', 'relHumidityPct', 'radiationWm2', 'cloudPct', 'windMs', 'rainMm'] as const;

/** Columns deflate better than rows; one that is empty throughout is left out. */
interface Packed {
  readonly start: number;
  /** Hours after `start`. */
  readonly after: readonly number[];
  readonly columns: Readonly<Partial<Record<(typeof COLUMNS)[number], readonly (number | null)[]>>>;
}

export function packHours(hours: readonly ForecastHour[]): Promise<Buffer> {
  const start = hours[0]?.at ?? 0;
  const packed: Packed = {
    start,
    after: hours.map(({ at }) => (at - start) / HOUR_MS),
    columns: Object.fromEntries(
      COLUMNS.flatMap((name) =>
        hours.some((hour) => hour[name] !== null) ? [[name, hours.map((hour) => hour[name])]] : [],
      ),
    ),
  };
  return deflateAsync(JSON.stringify(packed));
}

export async function unpackHours(deflated: Uint8Array): Promise<ForecastHour[]> {
  const { start, after, columns } = JSON.parse((await inflateAsync(deflated)).toString('utf8')) as Packed;
  return after.map((hoursAfter, index) => ({
    at: start + hoursAfter * HOUR_MS,
    airTempC: columns.airTempC?.[index] ?? null,
    relHumidityPct: columns.relHumidityPct?.[index] ?? null,
    radiationWm2: columns.radiationWm2?.[index] ?? null,
    cloudPct: columns.cloudPct?.[index] ?? null,
    windMs: columns.windMs?.[index] ?? null,
    rainMm: columns.rainMm?.[index] ?? null,
  }));
}
