import { beforeAll, describe, expect, it } from 'vitest';
import { backtestHotDays, type HotDayBacktest, type HotDayScores } from '../../../src/app/backtest/hot-days.js';
import { limitsOfSite } from '../../../src/app/backtest/hot-limits.js';
import { readUsForecasts, type UsSite } from '../../../src/app/backtest/us-forecasts.js';
import { contingencyScores, reliabilityBins } from '../../../src/science/scores.js';
import { fahrenheitToCelsius } from '../../../src/science/units.js';
import { sharedData } from '../../support/shared-data.js';

const FILE = 'weather/wx_us_forecasts/nws_hi_lo_forecasts_2021.csv.gz';
const path = sharedData(FILE);

/** Bins with fewer forecasts are printed by the command, but a share of so few says little: 0.04 to 0.05 is chance. */
const FEWEST_IN_BIN = 400;
const worstBin = ({ pairs }: HotDayScores, fewest: number): number =>
  Math.max(
    ...reliabilityBins(pairs)
      .filter(({ count }) => count >= fewest)
      .map(({ probability, count, events }) => Math.abs(probability - events / count)),
  );

describe.runIf(path)('archived forecasts of the US National Weather Service, 2021 (public domain)', () => {
  let result: HotDayBacktest;
  let sites: readonly UsSite[];
  beforeAll(() => {
    const archive = readUsForecasts((path as string).slice(0, -FILE.length));
    sites = archive.sites;
    result = backtestHotDays(archive.dates, sites);
  }, 120_000);
  const of = (limit: string) => result.scores.filter((one) => one.limit === limit);

  it('are read in °C: errors of 1.06, 1.20, 1.28 and 1.38 °C on average, as measured on the same file elsewhere', () => {
    for (const [lead, expected] of [1.06, 1.2, 1.28, 1.38].entries()) {
      const errors = sites.flatMap(({ days }) =>
        days.flatMap(({ forecastsC, highC }) => {
          const forecastC = forecastsC[lead];
          return forecastC === undefined || highC === undefined ? [] : [Math.abs(forecastC - highC)];
        }),
      );
      expect(errors.reduce((sum, error) => sum + error, 0) / errors.length).toBeCloseTo(expected, 1);
    }
  });

  it('the probability of a hot day is reliable within 0.07 in every tenth, at every lead', () => {
    for (const score of [...of('whole record'), ...of('past only')]) {
      // No bin is left out here: the smallest holds 490 forecasts.
      expect(Math.min(...reliabilityBins(score.pairs).map(({ count }) => count))).toBeGreaterThan(FEWEST_IN_BIN);
      expect(worstBin(score, FEWEST_IN_BIN), `${score.limit}, ${score.leadHours} h`).toBeLessThan(0.07);
    }
    // By the percentile of the warm months alone some tenths hold 150 forecasts of a few hot weeks.
    for (const score of of('May to September'))
      expect(worstBin(score, FEWEST_IN_BIN), `${score.limit}, ${score.leadHours} h`).toBeLessThan(0.07);
  });

  it('warnings from the probability chosen on the past beat the plain forecast above the limit in CSI, at every lead', () => {
    expect(result.scores).toHaveLength(12);
    for (const { model, plain, persistence, limit, leadHours } of result.scores) {
      const csi = (table: typeof model) => contingencyScores(table).csi as number;
      expect(csi(model), `${limit}, ${leadHours} h`).toBeGreaterThan(csi(plain) + 0.005);
      expect(csi(plain)).toBeGreaterThan(csi(persistence));
      // Same days, same events.
      expect(model.hits + model.misses).toBe(plain.hits + plain.misses);
      expect(model.falseAlarms + model.correctNegatives).toBe(plain.falseAlarms + plain.correctNegatives);
    }
  });

  it('the corrected high is no worse than the forecast at any lead, and better up to 36 hours', () => {
    const gains = result.errors.map(({ rawMaeC, correctedMaeC }) => rawMaeC - correctedMaeC);
    expect(Math.min(...gains.slice(0, 3))).toBeGreaterThan(0.01);
    // At 48 h there is no earlier forecast to compare with, and nothing is gained.
    expect(Math.abs(gains[3] as number)).toBeLessThan(0.005);
  });
});

describe('nothing is known before its time', () => {
  const DAYS = 120;
  const dates = Array.from({ length: DAYS }, (_, i) => new Date(Date.UTC(2021, 2, 1 + i)).toISOString().slice(0, 10));
  const site = (highs: (day: number) => number): UsSite => ({
    name: 'made up',
    days: dates.map((date, day) => ({
      date,
      forecastsC: [0, 1, 2, 3].map((lead) => 20 + 8 * Math.sin(day / 5) + Math.cos(day * (lead + 2))),
      highC: highs(day),
    })),
  });
  const high = (day: number) => 20 + 8 * Math.sin(day / 5) + Math.sin(day * 1.3);

  it('outcomes of the last days change no forecast made before they were known', () => {
    const changed = 100;
    const before = backtestHotDays(dates, [site(high)]);
    const after = backtestHotDays(dates, [site((day) => (day >= changed ? high(day) + 15 : high(day)))]);
    const past = (run: HotDayBacktest) => run.scores.filter(({ limit }) => limit === 'past only');
    past(before).forEach((score, lead) => {
      // 60 days are not scored; forecasts for days up to the changed one rest on earlier outcomes alone.
      const same = changed - 60;
      expect(past(after)[lead]?.pairs.slice(0, same)).toEqual(score.pairs.slice(0, same));
      expect(past(after)[lead]?.pairs[same]?.probability).toBe(score.pairs[same]?.probability);
      expect(past(after)[lead]?.pairs.at(-1)?.probability).not.toBe(score.pairs.at(-1)?.probability);
    });
  });

  it('the percentile of the past is of days that every forecast for the day knew', () => {
    const rising = site((day) => fahrenheitToCelsius(40 + day));
    const limits = limitsOfSite('past only', rising, 60, 3);
    expect(limits[59]).toBeUndefined();
    // Known for day 60: highs of days 0 to 57, 40 to 97 °F; their 90th percentile (type 7) is 91.3, the limit 91.5 °F.
    expect(limits[60]).toBeCloseTo(fahrenheitToCelsius(91.5), 9);
  });

  it('a site without outcomes has no limit and is not scored', () => {
    const silent: UsSite = {
      name: 'silent',
      days: dates.map((date) => ({ date, forecastsC: [20, 20, 20, 20], highC: undefined })),
    };
    expect(limitsOfSite('whole record', silent, 60, 3).every((limit) => limit === undefined)).toBe(true);
    expect(backtestHotDays(dates, [silent]).scores.every(({ pairs }) => pairs.length === 0)).toBe(true);
  });
});
