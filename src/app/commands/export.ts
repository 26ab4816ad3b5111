import { createWriteStream } from 'node:fs';
import { resolve } from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { stringify } from 'csv-stringify/sync';
import type { Config } from '../../config.js';
import { LeafturnError } from '../../domain/errors.js';
import type { JournalEntry } from '../../domain/journal.js';
import { maskToFlags, quantityInfo } from '../../domain/quantities.js';
import { addDays, isLocalDay, localDayBounds } from '../../domain/time.js';
import type { RawPoint, Storage } from '../../storage/repositories.js';
import { chosenSites, configFor } from './check-config.js';
import { EXIT } from './exit-codes.js';
import { type CommandIo, complain } from './io.js';
import { progressBar } from './progress.js';
import { withStorage, zoneOfSite } from './storage.js';

export interface ExportOptions {
  readonly config?: string;
  readonly site?: string;
  /** Local days of the site, both included. */
  readonly from?: string;
  readonly to?: string;
  /** Left out: standard output. */
  readonly out?: string;
}

/** Rows read at a time: a few milliseconds, so that a running service hardly notices. */
const STEP = 5000;

/** Text that a spreadsheet would take for a formula gets an apostrophe in front. */
const csv = (rows: readonly (readonly unknown[])[]): string =>
  stringify(rows as unknown[][], { escape_formulas: true, record_delimiter: '\n' });

interface Source {
  readonly config: Config;
  readonly storage: Storage;
  readonly siteIds: readonly string[];
  readonly options: ExportOptions;
  readonly io: CommandIo;
}
type Rows = AsyncGenerator<readonly (readonly unknown[])[]>;

/** `leafturn export readings`: every single reading that is still kept, by series and rising time. */
export const exportReadings = (options: ExportOptions, io: CommandIo): Promise<number> =>
  exporting(options, io, readingRows);

async function* readingRows({ config, storage, siteIds, options, io }: Source): Rows {
  yield [['site', 'house', 'bench', 'sensor', 'placement', 'time', 'quantity', 'value', 'unit', 'flags']];
  const series = (await Promise.all(siteIds.map((siteId) => storage.readings.series({ siteId })))).flat();
  const bar = progressBar(io, 'Readings');
  try {
    for (const [index, one] of series.entries()) {
      const { fromMs, toMs } = period(options, zoneOfSite(config)(one.siteId));
      const place = [one.siteId, one.houseId ?? '', one.benchId ?? '', one.sensorId, one.placement];
      const { unit } = quantityInfo(one.quantity);
      let after: number | undefined = fromMs - 1;
      while (after !== undefined) {
        const points: RawPoint[] = await storage.readings.raw(one.seriesId, after, toMs, STEP);
        yield points.map(({ at, value, flagMask }) => [
          ...place,
          new Date(at).toISOString(),
          one.quantity,
          value,
          unit,
          maskToFlags(flagMask).join(' '),
        ]);
        after = points.length < STEP ? undefined : points.at(-1)?.at;
      }
      bar.update(index + 1, series.length);
    }
  } finally {
    bar.stop();
  }
}

/** `leafturn export journal`: every entry by rising id, what was taken back included. */
export const exportJournal = (options: ExportOptions, io: CommandIo): Promise<number> =>
  exporting(options, io, journalRows);

async function* journalRows({ config, storage, siteIds, options }: Source): Rows {
  yield [['id', 'site', 'happened', 'entered', 'by', 'kind', 'event', 'note']];
  for (const siteId of siteIds) {
    const { fromMs, toMs } = period(options, zoneOfSite(config)(siteId));
    let afterId: number | undefined = 0;
    while (afterId !== undefined) {
      const entries: JournalEntry[] = await storage.journal.list({ siteId, afterId, limit: STEP });
      yield entries.filter(({ happenedAt }) => happenedAt >= fromMs && happenedAt < toMs).map(journalRow);
      afterId = entries.length < STEP ? undefined : entries.at(-1)?.id;
    }
  }
}

function journalRow(entry: JournalEntry): unknown[] {
  const { kind, ...event } = entry.event;
  const { id, siteId, by, note = '' } = entry;
  const [happened, entered] = [entry.happenedAt, entry.enteredAt].map((at) => new Date(at).toISOString());
  return [id, siteId, happened, entered, by, kind, JSON.stringify(event), note];
}

/** From the first instant of the first day up to the first instant after the last. */
function period({ from, to }: ExportOptions, zone: string): { fromMs: number; toMs: number } {
  return {
    fromMs: from === undefined ? 0 : localDayBounds(zone, from).startMs,
    toMs: to === undefined ? Number.MAX_SAFE_INTEGER : localDayBounds(zone, addDays(to, 1)).startMs,
  };
}

async function exporting(options: ExportOptions, io: CommandIo, rowsOf: (source: Source) => Rows): Promise<number> {
  const config = configFor(options.config, io);
  for (const [name, day] of Object.entries({ '--from': options.from, '--to': options.to }))
    if (day !== undefined && !isLocalDay(day))
      throw new LeafturnError('invalid-input', 'That is not a day.', [
        { path: name, expected: 'a date such as 2026-10-25', got: day },
      ]);
  const siteIds = chosenSites(config, options.site).map(({ id }) => id);
  let rows = -1;
  try {
    await withStorage(
      config,
      async (storage) => {
        async function* text(): AsyncGenerator<string> {
          for await (const some of rowsOf({ config, storage, siteIds, options, io })) {
            rows += some.length;
            if (some.length > 0) yield csv(some);
          }
        }
        if (options.out === undefined) await pipeline(Readable.from(text()), io.stdout, { end: false });
        else
          await pipeline(
            Readable.from(text()),
            createWriteStream(resolve(io.workingFolder, options.out), { flags: 'wx' }),
          );
      },
      { mustExist: true },
    );
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    // The reader at the other end of the pipe has seen enough.
    if (code === 'EPIPE') return EXIT.ok;
    if (code === undefined || error instanceof LeafturnError) throw error;
    throw new LeafturnError('file-failed', `The export to ${options.out ?? 'standard output'} failed.`, [
      {
        path: '--out',
        expected: 'a file that can be made and is not there yet',
        got: code === 'EEXIST' ? 'a file that is there already' : code,
      },
    ]);
  }
  complain(io, `${rows} rows.`);
  return EXIT.ok;
}
