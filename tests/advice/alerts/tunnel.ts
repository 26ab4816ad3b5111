import { readFileSync } from 'node:fs';
import { gunzipSync } from 'node:zlib';
import type { Quantity } from '../../../src/domain/quantities.js';
import { type Site, siteSchema } from '../../../src/domain/site.js';
import { type LocalDay, localDayOf, parseInstant } from '../../../src/domain/time.js';
import { checkLimits, checkRange } from '../../../src/ingest/check.js';
import type { CheckedReading, Refusal } from '../../../src/storage/repositories.js';

/** Somewhere in Italy; the file tells no more. Its clock reads like the wall clock there: light begins with the summer sunrise. */
export const TUNNEL_SITE: Site = siteSchema.parse({
  id: 'italy',
  name: 'Italy',
  latitude: 43,
  longitude: 11,
  zone: 'Europe/Rome',
  houses: [{ id: 'tunnel', name: 'Tunnel', cover: 'single-film' }],
});

export interface TunnelDay {
  readonly day: LocalDay;
  readonly readings: readonly CheckedReading[];
  readonly refusals: readonly Refusal[];
}

const COLUMNS: readonly [column: string, quantity: Quantity][] = [
  ['t_in_c', 'airTempC'],
  ['rh_in_pct', 'relHumidityPct'],
  ['light_raw_klux_or_lux', 'illuminanceLux'],
  ['substrate_vwc_pct', 'substrateMoisturePct'],
  ['substrate_t_c', 'substrateTempC'],
];

/**
 * The record day by day, each value through the range check of the service.
 * @param luxPerUnit 1: the mapping says lux; 1000: it says kilolux, as the device sent at first
 */
export function tunnelDays(path: string, luxPerUnit: 1 | 1000): TunnelDay[] {
  const [head = '', ...lines] = gunzipSync(readFileSync(path)).toString('utf8').trim().split('\n');
  const index = new Map(head.split(',').map((name, i) => [name, i]));
  const days = new Map<LocalDay, { readings: CheckedReading[]; refusals: Refusal[] }>();
  for (const line of lines) {
    const fields = line.split(',');
    const at = parseInstant((fields[0] ?? '').replace(' ', 'T'), TUNNEL_SITE.zone);
    if (at === undefined) throw new Error(`not a time: ${line}`);
    const day = localDayOf(TUNNEL_SITE.zone, at);
    const { readings, refusals } = days.get(day) ?? { readings: [], refusals: [] };
    days.set(day, { readings, refusals });
    for (const [column, quantity] of COLUMNS) {
      const text = fields[index.get(column) ?? -1] ?? '';
      if (text === '') continue;
      const sent = Number(text) * (quantity === 'illuminanceLux' ? luxPerUnit : 1);
      const known = { siteId: 'italy', sensorId: 'mast', quantity };
      const ranged = checkRange(sent, checkLimits(quantity));
      if (ranged.ok)
        readings.push({
          ...known,
          houseId: 'tunnel',
          benchId: null,
          placement: 'inside',
          at,
          value: ranged.value,
          flagMask: 0,
          timeSource: 'payload',
          receivedAt: at,
        });
      else refusals.push({ ...known, at, topic: 'tunnel', ...ranged.fault, excerpt: text });
    }
  }
  return [...days].map(([day, kept]) => ({ day, ...kept }));
}
