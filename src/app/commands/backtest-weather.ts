import { existsSync } from 'node:fs';
import { isAbsolute, join } from 'node:path';
import { LeafturnError } from '../../domain/errors.js';
import { EXIT } from './exit-codes.js';
import { type CommandIo, print } from './io.js';

export interface BacktestWeatherOptions {
  /** Folder with `weather` and `houses` in it. */
  readonly data: string;
}

type Tables = typeof import('../backtest/weather-tables.js');
type Part = (tables: Tables, dataFolder: string) => Promise<readonly string[]>;

const PARTS: Readonly<Record<string, { readonly needs: string; readonly lines: Part }>> = {
  'hot-days': {
    needs: 'weather/wx_us_forecasts',
    lines: (tables, folder) => tables.hotDayTables(folder),
  },
  maxima: {
    needs: 'weather/wx_seoul_forecasts',
    lines: (tables, folder) => tables.maximaTable(folder),
  },
  spells: {
    needs: 'weather/wx_australia',
    lines: (tables, folder) => tables.spellTable(folder),
  },
  houses: {
    needs: 'houses/houses.json',
    lines: (tables, folder) => tables.houseHeatTables(folder),
  },
};
export const BACKTEST_PARTS = Object.keys(PARTS);

/** `leafturn backtest weather`: how good hot days and hot spells would have been told on archived forecasts and records. */
export async function backtestWeather(
  names: readonly string[],
  { data }: BacktestWeatherOptions,
  io: CommandIo,
): Promise<number> {
  const folder = isAbsolute(data) ? data : join(io.workingFolder, data);
  const unknown = names.filter((name) => !BACKTEST_PARTS.includes(name));
  if (unknown.length > 0)
    throw new LeafturnError(
      'invalid-input',
      'There is no such part of the backtest.',
      unknown.map((name) => ({ path: 'PART', expected: `one of ${BACKTEST_PARTS.join(', ')}`, got: name })),
    );
  // Loaded only when asked for: a backtest brings much with it that no other command needs.
  const tables = await import('../backtest/weather-tables.js');
  let shown = 0;
  for (const [name, { needs, lines }] of Object.entries(PARTS)) {
    if (names.length > 0 && !names.includes(name)) continue;
    if (!existsSync(join(folder, needs))) {
      print(io, `${name}: left out, ${join(folder, needs)} is not there.`);
      continue;
    }
    if (shown > 0) print(io, '');
    for (const line of await lines(tables, folder)) print(io, line);
    shown += 1;
  }
  return shown > 0 ? EXIT.ok : EXIT.checkFailed;
}
