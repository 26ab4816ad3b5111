import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';
import { EXIT } from '../../../src/app/commands/exit-codes.js';
import { sharedData } from '../../support/shared-data.js';
import { leafturn } from './support.js';

const empty = mkdtempSync(join(tmpdir(), 'leafturn-backtest-'));
afterAll(() => rmSync(empty, { recursive: true }));

it('says part by part what is not there, and that nothing could be shown', async () => {
  const { code, out } = await leafturn(['backtest', 'weather', '--data', '.'], empty);
  expect(code).toBe(EXIT.checkFailed);
  for (const part of ['hot-days', 'maxima', 'spells', 'houses'])
    expect(out).toMatch(new RegExp(`^${part}: left out, .+ is not there\\.$`, 'm'));
});

it('names the parts there are when asked for another one', async () => {
  const { code, err } = await leafturn(['backtest', 'weather', 'frost', '--data', '.'], empty);
  expect(code).toBe(EXIT.badUsage);
  expect(err).toContain('one of hot-days, maxima, spells, houses, got frost');
});

it('asks for the folder', async () => {
  const { code, err } = await leafturn(['backtest', 'weather'], empty);
  expect(code).toBe(EXIT.badUsage);
  expect(err).toContain('--data');
});

const FILE = 'weather/wx_seoul_forecasts/Bias_correction_ucl.csv.gz';
const path = sharedData(FILE);
it.runIf(path)('prints the table of a part', async () => {
  const { code, out } = await leafturn(
    ['backtest', 'weather', 'maxima', '--data', (path as string).slice(0, -FILE.length)],
    empty,
  );
  expect(code).toBe(EXIT.ok);
  expect(out).toMatch(/25 stations in Seoul, summer of 2015 \(1533 forecasts\)/);
  expect(out).toMatch(/^corrected, learned on the years before +1\.\d\d$/m);
});
