import { createReadStream } from 'node:fs';
import { basename } from 'node:path';
import { createInterface } from 'node:readline';
import { createGunzip } from 'node:zlib';
import { parse } from 'csv-parse';
import { LeafturnError } from '../domain/errors.js';
import type { MappingInput } from '../domain/mapping.js';

/** Recordings of house climate and message logs, told again as the messages their sensors would send. */
export interface RecordedMessage {
  readonly topic: string;
  readonly payload: string;
  /** When it was measured or sent, UTC ms; undefined when the recording does not say. */
  readonly at: number | undefined;
}

/** Columns of a house recording: where they stand and what they are called in the message. */
const HOUSE_TOPICS = {
  'inside/air': { inside_temp_c: 'temp_c', inside_rh_pct: 'rh_pct', inside_ppfd_umol: 'ppfd_umol' },
  'outside/weather': {
    outside_temp_c: 'temp_c',
    outside_rh_pct: 'rh_pct',
    outside_radiation_wm2: 'radiation_wm2',
    outside_wind_ms: 'wind_ms',
  },
  'inside/openings': { vent_pct: 'vent_pct', screen_pct: 'screen_pct' },
} as const;
const UPLINK_COLUMNS = ['t_in_c', 'rh_in_pct', 'pressure_hpa', 'battery_v', 'frame_counter'] as const;

/** Topics begin with this, so that a recording is never taken for the house's own sensors. */
export const REPLAY_BASE = 'replay';

/** Mappings under which a service reads replayed recordings of one house. */
export function replayMappings(site: string, house: string): MappingInput[] {
  // Recordings may be older than any clock that is believed of a live sensor.
  const clock = { earliest: '2000-01-01' };
  const time = { pointer: '/time', kind: 'iso' } as const;
  const field = (pointer: string, quantity: string, unit: string) => ({ pointer, quantity, unit, optional: true });
  const common = { format: 'json', site, sensor: '{1}-{2}', requireAny: true, clock, time } as const;
  return [
    {
      ...common,
      id: 'replay-air',
      topic: `${REPLAY_BASE}/+/inside/air`,
      sensor: '{1}-air',
      house,
      fields: [
        field('/temp_c', 'airTempC', '°C'),
        field('/rh_pct', 'relHumidityPct', '%'),
        field('/ppfd_umol', 'ppfdUmol', 'µmol/m²/s'),
      ],
    },
    {
      ...common,
      id: 'replay-weather',
      topic: `${REPLAY_BASE}/+/outside/weather`,
      sensor: '{1}-weather',
      placement: 'outside',
      fields: [
        field('/temp_c', 'airTempC', '°C'),
        field('/rh_pct', 'relHumidityPct', '%'),
        field('/radiation_wm2', 'radiationWm2', 'W/m²'),
        field('/wind_ms', 'windMs', 'm/s'),
      ],
    },
    {
      ...common,
      id: 'replay-openings',
      topic: `${REPLAY_BASE}/+/inside/openings`,
      sensor: '{1}-openings',
      house,
      fields: [field('/vent_pct', 'ventPct', '%'), field('/screen_pct', 'screenPct', '%')],
    },
    {
      ...common,
      id: 'replay-uplinks',
      topic: `${REPLAY_BASE}/+/devices/+/up`,
      sensor: '{2}',
      house,
      fields: [
        field('/t_in_c', 'airTempC', '°C'),
        field('/rh_in_pct', 'relHumidityPct', '%'),
        field('/pressure_hpa', 'pressureHpa', 'hPa'),
      ],
    },
  ] as MappingInput[];
}

function openText(path: string): NodeJS.ReadableStream {
  const file = createReadStream(path);
  if (!path.endsWith('.gz')) return file;
  const text = createGunzip();
  file.on('error', (error) => text.destroy(error));
  return file.pipe(text);
}

const columnValue = (row: Record<string, string>, column: string): number | undefined => {
  const text = row[column]?.trim();
  if (!text) return undefined;
  const value = Number(text);
  return Number.isFinite(value) ? value : undefined;
};

function* houseMessages(row: Record<string, string>, house: string): Generator<RecordedMessage> {
  const time = row.time ?? '';
  const at = Date.parse(time);
  for (const [place, columns] of Object.entries(HOUSE_TOPICS)) {
    const values = Object.entries(columns).flatMap(([column, name]) => {
      const value = columnValue(row, column);
      return value === undefined ? [] : [[name, value] as const];
    });
    if (values.length === 0) continue;
    yield {
      topic: `${REPLAY_BASE}/${house}/${place}`,
      payload: JSON.stringify({ time, ...Object.fromEntries(values) }),
      at: Number.isNaN(at) ? undefined : at,
    };
  }
}

function uplinkMessage(row: Record<string, string>, house: string): RecordedMessage {
  const values = UPLINK_COLUMNS.flatMap((column) => {
    const value = columnValue(row, column);
    return value === undefined ? [] : [[column, value] as const];
  });
  const at = Date.parse(row.time_utc ?? '');
  return {
    topic: `${REPLAY_BASE}/${house}/devices/${row.device}/up`,
    payload: JSON.stringify({ time: row.time_utc, ...Object.fromEntries(values) }),
    at: Number.isNaN(at) ? undefined : at,
  };
}

/** A line of a message log: topic and payload as they came, with the time the log gives. */
function loggedMessage(line: string, number: number, path: string): RecordedMessage {
  let entry: unknown;
  try {
    entry = JSON.parse(line);
  } catch {
    entry = undefined;
  }
  const { topic, payload, ...rest } = (entry ?? {}) as Record<string, unknown>;
  if (typeof topic !== 'string' || topic === '' || payload === undefined)
    throw new LeafturnError('invalid-input', `${basename(path)} is not a message log.`, [
      { path: `line ${number}`, expected: 'a JSON object with topic and payload', got: line.slice(0, 60) },
    ]);
  const stamp = [rest.receivedTimestamp, rest.stored_utc, rest.at].find((value) => typeof value === 'string');
  const at = stamp === undefined ? Number.NaN : Date.parse(stamp as string);
  return {
    // A topic that begins with a slash has an empty first level; it is a topic all the same.
    topic,
    payload: typeof payload === 'string' ? payload : JSON.stringify(payload),
    at: Number.isNaN(at) ? undefined : at,
  };
}

/** Messages of a recording in the order of the file. */
export async function* recordedMessages(path: string, house: string): AsyncGenerator<RecordedMessage> {
  const name = path.replace(/\.gz$/, '');
  if (name.endsWith('.jsonl')) {
    let number = 0;
    for await (const line of createInterface({ input: openText(path), crlfDelay: Number.POSITIVE_INFINITY })) {
      number++;
      if (line.trim()) yield loggedMessage(line, number, path);
    }
    return;
  }
  if (!name.endsWith('.csv'))
    throw new LeafturnError('invalid-input', `${basename(path)} cannot be replayed.`, [
      { path, expected: 'a .csv, .csv.gz or .jsonl file', got: basename(path) },
    ]);
  const rows = openText(path).pipe(
    parse({ columns: true, bom: true, skip_empty_lines: true, relax_column_count: true }),
  );
  for await (const row of rows as AsyncIterable<Record<string, string>>) {
    if ('device' in row && 'time_utc' in row) yield uplinkMessage(row, house);
    else if ('time' in row && 'inside_temp_c' in row) yield* houseMessages(row, house);
    else
      throw new LeafturnError('invalid-input', `${basename(path)} is not a recording of a house or of radio nodes.`, [
        {
          path: 'first line',
          expected: 'columns time and inside_temp_c, or time_utc and device',
          got: Object.keys(row).slice(0, 8).join(', '),
        },
      ]);
  }
}
