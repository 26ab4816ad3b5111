import { readFileSync } from 'node:fs';
import { gunzipSync } from 'node:zlib';
import { beforeAll, describe, expect, it } from 'vitest';
import {
  excessHeatSpells,
  inWinter,
  percentileSpells,
  readAustralia,
  type SpellSite,
  serviceSpells,
} from '../../../src/app/backtest/australian-spells.js';
import { limitsFor, TROPICAL } from '../../../src/app/backtest/weather-tables.js';
import { sharedData } from '../../support/shared-data.js';

const FILE = 'weather/wx_australia/weatherAUS_2007_2017.csv.gz';
const path = sharedData(FILE);

/*
 * A count of its own: other reading of the file, dates as numbers of days, quantiles by sorting and the formula of
 * Hyndman & Fan (1996) written out, spells by looking back from each day.
 */
interface Own {
  readonly max: Map<number, number>;
  readonly min: Map<number, number>;
}
function readOwn(file: string): Map<string, Own> {
  const sites = new Map<string, Own>();
  const [head, ...lines] = gunzipSync(readFileSync(file)).toString('utf8').trim().split('\n');
  const column = (name: string) => (head as string).split(',').indexOf(name);
  const [date, place, min, max] = [column('Date'), column('Location'), column('MinTemp'), column('MaxTemp')];
  for (const line of lines) {
    const cells = line.split(',');
    const day = Date.parse(cells[date] as string) / 86_400_000;
    const site = sites.get(cells[place] as string) ?? { max: new Map(), min: new Map() };
    sites.set(cells[place] as string, site);
    if (cells[max] !== '') site.max.set(day, Number(cells[max]));
    if (cells[min] !== '') site.min.set(day, Number(cells[min]));
  }
  return sites;
}

/** Type 8: position (n + 1/3) p + 1/3 among the sorted values. */
function quantile8(values: number[], p: number): number {
  const sorted = values.toSorted((a, b) => a - b);
  const position = (sorted.length + 1 / 3) * p + 1 / 3;
  const below = Math.min(Math.max(Math.floor(position), 1), sorted.length);
  const above = Math.min(below + 1, sorted.length);
  const low = sorted[below - 1] as number;
  return low + (position - Math.floor(position)) * ((sorted[above - 1] as number) - low);
}

/** 0 to 364; 29 February is 28 February. */
function placeInYear(day: number): number {
  const at = new Date(day * 86_400_000);
  const date = at.getUTCMonth() === 1 && at.getUTCDate() === 29 ? 28 : at.getUTCDate();
  return (Date.UTC(2001, at.getUTCMonth(), date) - Date.UTC(2001, 0, 1)) / 86_400_000;
}

/** First days of runs of at least `shortest`, found from their ends. */
function runStarts(days: ReadonlySet<number>, shortest: number): Map<number, number> {
  const runs = new Map<number, number>();
  for (const day of days) {
    if (days.has(day + 1)) continue;
    let first = day;
    while (days.has(first - 1)) first -= 1;
    if (day - first + 1 >= shortest) runs.set(first, day - first + 1);
  }
  return runs;
}

function ownPercentileSpells({ max }: Own): Map<number, number> {
  const all = [...max].map(([day, value]) => ({ day, value, place: placeInYear(day) }));
  const limits = Array.from({ length: 365 }, (_, place) => {
    const around = all.filter((one) => [0, 1, 2, 363, 364].includes(Math.abs(one.place - place)));
    return around.length < 10
      ? Number.POSITIVE_INFINITY
      : quantile8(
          around.map(({ value }) => value),
          0.9,
        );
  });
  const hot = all.filter(({ place, value }) => value > (limits[place] as number));
  return runStarts(new Set(hot.map(({ day }) => day)), 3);
}

function ownExcessHeatSpells({ max, min }: Own): Map<number, number> {
  const mean = new Map<number, number>();
  for (const [day, value] of max) {
    const night = min.get(day + 1);
    if (night !== undefined) mean.set(day, (value + night) / 2);
  }
  const limit = quantile8([...mean.values()], 0.95);
  const hot = new Set<number>();
  for (const day of mean.keys()) {
    let three = 0;
    for (let i = 0; i < 3; i += 1) three += (mean.get(day + i) ?? Number.NaN) / 3;
    let thirty = 0;
    for (let i = 1; i <= 30; i += 1) thirty += (mean.get(day - i) ?? Number.NaN) / 30;
    const factor = (three - limit) * Math.max(1, three - thirty);
    // Three days exactly at the limit: what is left is rounding.
    if (factor > 1e-9) hot.add(day);
  }
  return runStarts(hot, 1);
}

describe.runIf(path)('39 Australian sites 2007-17 ((c) Commonwealth of Australia, Bureau of Meteorology)', () => {
  let sites: readonly SpellSite[];
  let own: Map<string, Own>;
  beforeAll(() => {
    sites = readAustralia((path as string).slice(0, -FILE.length));
    own = readOwn(path as string);
  }, 60_000);

  const agree = (
    found: (site: SpellSite) => readonly { first: string; days: number }[],
    count: (site: Own) => Map<number, number>,
  ) => {
    let spells = 0;
    for (const site of sites) {
      const ours = found(site).map(({ first, days }) => [Date.parse(first) / 86_400_000, days]);
      const theirs = [...count(own.get(site.name) as Own)].sort(([a], [b]) => a - b);
      expect(ours, site.name).toEqual(theirs);
      spells += ours.length;
    }
    return spells;
  };

  it('spells above the calendar-day 90th percentile (ETCCDI TX90p, at least 3 days) agree with a count of its own', () => {
    expect(sites).toHaveLength(39);
    const spells = agree(percentileSpells, ownPercentileSpells);
    expect(spells).toBeGreaterThan(300);
    // A percentile alone is no alarm: most of these spells fall outside the warm months.
    const warm = sites
      .flatMap(percentileSpells)
      .filter(({ first }) => ['11', '12', '01', '02', '03'].includes(first.slice(5, 7)));
    expect(warm.length / spells).toBeLessThan(0.45);
  });

  it('spells of excess heat (Nairn & Fawcett 2015) agree with a count of its own, and none is in winter', () => {
    expect(agree(excessHeatSpells, ownExcessHeatSpells)).toBeGreaterThan(800);
    expect(sites.flatMap(excessHeatSpells).filter(inWinter)).toEqual([]);
  });

  it('winter spells do not alarm: south of the tropics the rule of the service is quiet from June to August', () => {
    const south = sites.filter(({ name }) => !TROPICAL.includes(name));
    expect(south.flatMap(percentileSpells).filter(inWinter).length).toBeGreaterThan(50);
    const spells = south.flatMap((site) => serviceSpells(site, limitsFor(false)));
    expect(spells.filter(inWinter)).toEqual([]);
    // It does speak in summer.
    expect(spells.length / south.length).toBeGreaterThan(10);
  });

  it('stricter while plants change their leaf pair, but only two days of 32 °C in late winter are told', () => {
    const south = sites.filter(({ name }) => !TROPICAL.includes(name));
    const winter = south.flatMap((site) => serviceSpells(site, limitsFor(true))).filter(inWinter);
    expect(winter.length).toBeLessThanOrEqual(2);
    for (const { site, first } of winter) {
      const days = sites.find(({ name }) => name === site)?.days ?? [];
      const at = days.findIndex(({ day }) => day === first);
      const hot = days.slice(at, at + 3).filter(({ dayMaxC }) => (dayMaxC ?? 0) >= 32);
      expect(hot.length, `${site} ${first}`).toBeGreaterThanOrEqual(2);
    }
  });
});
