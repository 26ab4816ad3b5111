import { existsSync } from 'node:fs';
import { writeFile } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { LeafturnError, type Problem } from '../../domain/errors.js';
import {
  FORECAST_HEADER,
  forecastLines,
  forecastsOf,
  geometricSkill,
  type LeadScore,
  scoresOf,
} from '../backtest/house-forecasts.js';
import { figure, textTable } from '../backtest/tables.js';
import { type HouseMeta, houseMetaOf, readHouseMetas, readHouseRecord } from '../house-records.js';
import { EXIT } from './exit-codes.js';
import { type CommandIo, complain, print } from './io.js';

export interface BacktestHouseOptions {
  readonly data?: string;
  readonly meta?: string;
  readonly name?: string;
  readonly out?: string;
  /** Folder of many houses: prints a table and writes nothing. */
  readonly all?: string;
}

/** `leafturn backtest house`: the forecasts of one record as a file, or how good those of many are as a table. */
export async function backtestHouse(options: BacktestHouseOptions, io: CommandIo): Promise<number> {
  const { all, data, meta, name, out } = options;
  if (all !== undefined) {
    refuse(
      Object.entries({ '--data': data, '--meta': meta, '--name': name, '--out': out }).flatMap(([path, value]) =>
        value === undefined ? [] : [{ path, expected: 'nothing beside --all', got: value }],
      ),
    );
    return tableOf(resolve(io.workingFolder, all), io);
  }
  refuse(
    Object.entries({ '--data': data, '--meta': meta, '--name': name }).flatMap(([path, value]) =>
      value === undefined
        ? [{ path, expected: 'a value', got: 'nothing', mend: 'Or give --all FOLDER for a table of all houses.' }]
        : [],
    ),
  );
  const metaPath = resolve(io.workingFolder, meta as string);
  const place = houseMetaOf(await readHouseMetas(metaPath), name as string, metaPath);
  const { forecasts } = await forecastsOfFile(resolve(io.workingFolder, data as string), place, io);
  const text = `${[FORECAST_HEADER, ...forecastLines(forecasts)].join('\n')}\n`;
  if (out === undefined) io.stdout.write(text);
  else
    try {
      await writeFile(resolve(io.workingFolder, out), text);
    } catch (error) {
      throw new LeafturnError('file-failed', `Cannot write ${out}: ${(error as Error).message}`);
    }
  complain(io, `${forecasts.length} forecasts.`);
  return forecasts.length > 0 ? EXIT.ok : EXIT.checkFailed;
}

function refuse(problems: readonly Problem[]): void {
  if (problems.length > 0) throw new LeafturnError('invalid-input', 'The backtest was not told what to do.', problems);
}

async function forecastsOfFile(path: string, place: HouseMeta, io: CommandIo) {
  const { samples, unreadable } = await readHouseRecord(path);
  if (unreadable > 0) complain(io, `${path}: ${unreadable} cells hold no number and count as not measured.`);
  const result = forecastsOf(samples, place);
  for (const { column, fault, count } of result.removed)
    complain(io, `${path}: ${column}, ${count} values ${WORDS[fault]}.`);
  return result;
}

const WORDS = {
  impossible: 'that no sensor can give were left out',
  zero: 'of 0 that stand for no measurement were left out',
  stuck: 'of a sensor that stood still were left out',
  copied: 'that repeat the day before were left out',
} as const;

async function tableOf(folder: string, io: CommandIo): Promise<number> {
  const metaPath = join(folder, 'houses.json');
  const metas = await readHouseMetas(metaPath);
  const rows: string[][] = [];
  const skills: number[][] = [];
  for (const name of metas.keys()) {
    const path = ['.csv.gz', '.csv'].map((ending) => join(folder, `${name}${ending}`)).find((one) => existsSync(one));
    if (path === undefined) {
      complain(io, `${name}: left out, neither ${name}.csv.gz nor ${name}.csv is in ${folder}.`);
      continue;
    }
    const place = houseMetaOf(metas, name, metaPath);
    const scores = scoresOf(await forecastsOfFile(path, place, io), place.scoreFrom);
    for (const score of scores) rows.push([name, ...cellsOf(score)]);
    skills.push(scores.map(({ skill }) => skill));
  }
  for (const line of textTable([HEADINGS, ...rows])) print(io, line);
  print(io, '');
  print(
    io,
    `Geometric mean skill over the best simple forecast: ${[0, 1, 2]
      .map((lead) => `${figure(geometricSkill(skills.map((one) => one[lead] ?? Number.NaN)), 3)} at lead ${lead}`)
      .join(', ')}.`,
  );
  return rows.length > 0 ? EXIT.ok : EXIT.checkFailed;
}

const HEADINGS = ['house', 'lead', 'days', 'model', 'last day', 'delta', 'rolling', 'skill', 'band held', 'width'];

const cellsOf = ({ lead, days, modelMaeC, simpleMaeC, skill, held, widthRatio }: LeadScore): string[] => [
  `${lead}`,
  `${days}`,
  figure(modelMaeC),
  figure(simpleMaeC.persistence),
  figure(simpleMaeC.delta),
  figure(simpleMaeC.rolling),
  figure(skill, 3),
  Number.isNaN(held) ? '-' : `${(100 * held).toFixed(0)} %`,
  figure(widthRatio),
];
