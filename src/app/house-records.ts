/** Records of houses as files: a CSV of measurements, and what is known of the houses in a JSON file beside it. */
import { createReadStream } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { basename } from 'node:path';
import { createGunzip } from 'node:zlib';
import { CsvError, parse } from 'csv-parse';
import { z } from 'zod';
import { LeafturnError } from '../domain/errors.js';
import { schemaProblems } from '../domain/problems.js';
import { isLocalDay, isTimeZone, parseInstant } from '../domain/time.js';
import type { ThermalColumn, ThermalSample } from '../models/house-thermal/record.js';

const houseMetaSchema = z.looseObject({
  latitude: z.number().min(-90).max(90),
  longitude: z.number().min(-180).max(180),
  elevationM: z.number().min(-450).max(6000).default(0),
  zone: z.string().refine(isTimeZone, 'a time zone name such as Europe/Berlin'),
  cover: z.string().default(''),
  /** First day that counts when forecasts are scored; left out: a fifth of the record is for learning. */
  scoreFrom: z.string().refine(isLocalDay, 'a day such as 2026-10-25').optional(),
});
export type HouseMeta = z.infer<typeof houseMetaSchema>;

/** What `houses.json` says of each house, by name. */
export async function readHouseMetas(path: string): Promise<ReadonlyMap<string, unknown>> {
  let text: string;
  try {
    text = await readFile(path, 'utf8');
  } catch (error) {
    throw new LeafturnError('file-failed', `Cannot read ${path}: ${(error as Error).message}`);
  }
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch (error) {
    throw new LeafturnError('invalid-input', `${path} is not JSON: ${(error as Error).message}`);
  }
  if (typeof json !== 'object' || json === null || Array.isArray(json))
    throw new LeafturnError('invalid-input', `${path} does not describe houses.`, [
      {
        path: '(top)',
        expected: 'an object with one entry for each house, by name',
        got: Array.isArray(json) ? 'a list' : String(json),
      },
    ]);
  return new Map(Object.entries(json));
}

/** One house of `houses.json`. */
export function houseMetaOf(metas: ReadonlyMap<string, unknown>, name: string, path: string): HouseMeta {
  const entry = metas.get(name);
  if (entry === undefined)
    throw new LeafturnError('not-found', `${path} has no house called ${name}.`, [
      { path: '--name', expected: `one of ${[...metas.keys()].join(', ')}`, got: name },
    ]);
  const parsed = houseMetaSchema.safeParse(entry);
  if (parsed.success) return parsed.data;
  throw new LeafturnError(
    'invalid-input',
    `${path} does not describe ${name} as it should.`,
    schemaProblems(houseMetaSchema, entry, parsed.error).map((problem) => ({
      ...problem,
      path: `${name}.${problem.path}`,
    })),
  );
}

const COLUMNS: Readonly<Record<ThermalColumn, string>> = {
  insideTempC: 'inside_temp_c',
  insideRelHumidityPct: 'inside_rh_pct',
  outsideTempC: 'outside_temp_c',
  outsideRelHumidityPct: 'outside_rh_pct',
  outsideRadiationWm2: 'outside_radiation_wm2',
};

export interface HouseRecord {
  readonly samples: readonly ThermalSample[];
  /** Cells that held something that is no number; they count as not measured. */
  readonly unreadable: number;
}

/** A record: columns `time` (ISO 8601; UTC where it does not say) and `inside_temp_c`; the others may be missing. */
export async function readHouseRecord(path: string): Promise<HouseRecord> {
  const file = createReadStream(path);
  const text = path.endsWith('.gz') ? file.pipe(createGunzip()) : file;
  const rows = text.pipe(
    parse({ columns: true, bom: true, skip_empty_lines: true, relax_column_count: true, info: true }),
  );
  for (const part of [file, text]) part.on('error', (error: Error) => rows.destroy(error));
  const samples: ThermalSample[] = [];
  let unreadable = 0;
  const cell = (record: Record<string, string>, column: string): number | null => {
    const content = record[column]?.trim() ?? '';
    if (content === '') return null;
    const value = Number(content);
    if (Number.isFinite(value)) return value;
    unreadable += 1;
    return null;
  };
  try {
    for await (const { record, info } of rows as AsyncIterable<{
      record: Record<string, string>;
      info: { lines: number };
    }>) {
      if (samples.length === 0) requireColumns(record, path);
      const at = instantOf(record.time ?? '');
      if (at === undefined)
        throw new LeafturnError('invalid-input', `${basename(path)} has a line without a time.`, [
          {
            path: `line ${info.lines}, column time`,
            expected: 'a time such as 2026-06-01T12:00Z',
            got: record.time || 'nothing',
          },
        ]);
      samples.push({
        at,
        insideTempC: cell(record, COLUMNS.insideTempC),
        insideRelHumidityPct: cell(record, COLUMNS.insideRelHumidityPct),
        outsideTempC: cell(record, COLUMNS.outsideTempC),
        outsideRelHumidityPct: cell(record, COLUMNS.outsideRelHumidityPct),
        outsideRadiationWm2: cell(record, COLUMNS.outsideRadiationWm2),
      });
    }
  } catch (error) {
    if (error instanceof LeafturnError) throw error;
    if (error instanceof CsvError)
      throw new LeafturnError('invalid-input', `${basename(path)} is not a table: ${error.message}`);
    throw new LeafturnError('file-failed', `Cannot read ${path}: ${(error as Error).message}`);
  }
  if (samples.length === 0)
    throw new LeafturnError('invalid-input', `${basename(path)} holds no measurements.`, [
      { path, expected: 'a first line with column names and a line for each time', got: 'no lines' },
    ]);
  return { samples, unreadable };
}

function requireColumns(record: Record<string, string>, path: string): void {
  const missing = ['time', COLUMNS.insideTempC].filter((column) => !(column in record));
  if (missing.length > 0)
    throw new LeafturnError('invalid-input', `${basename(path)} is not a record of a house.`, [
      {
        path: 'first line',
        expected: `columns time and ${COLUMNS.insideTempC}`,
        got: Object.keys(record).slice(0, 12).join(', '),
        mend: `Missing: ${missing.join(', ')}. The outside columns may be left out, but forecasts need them.`,
      },
    ]);
}

function instantOf(text: string): number | undefined {
  const quick = /(?:Z|[+-]\d\d:\d\d)$/.test(text) ? Date.parse(text) : Number.NaN;
  return Number.isNaN(quick) ? parseInstant(text) : quick;
}
