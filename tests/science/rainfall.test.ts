import { readFileSync } from 'node:fs';
import { parse } from 'csv-parse/sync';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PhysicsRangeError } from '../../src/science/guards.js';
import {
  isFogCoast,
  markhamSeasonality,
  originZoneOf,
  rainfallZone,
  walshLawlerClass,
  walshLawlerSeasonality,
  winterRainShare,
} from '../../src/science/rainfall.js';
import { sharedData } from '../support/shared-data.js';

interface Station {
  readonly name: string;
  readonly monthlyRainMm: number[];
  readonly zone: string;
  readonly winterShare: number;
  readonly seasonality: number;
}
const { stations } = JSON.parse(readFileSync(new URL('data/station-rainfall.json', import.meta.url), 'utf8')) as {
  stations: Station[];
};

describe('zones and seasonality of ten normals (sources in station-rainfall.json)', () => {
  it.each(stations.map((station) => [station.name, station] as const))('%s', (_, station) => {
    expect(rainfallZone(station.monthlyRainMm)).toBe(station.zone);
    expect(winterRainShare(station.monthlyRainMm)).toBeCloseTo(station.winterShare, 1);
    expect(Math.abs((winterRainShare(station.monthlyRainMm) as number) - station.winterShare)).toBeLessThan(0.0051);
    expect(Math.abs((walshLawlerSeasonality(station.monthlyRainMm) as number) - station.seasonality)).toBeLessThan(
      0.0051,
    );
  });
});

describe('rules', () => {
  const even = new Array<number>(12).fill(10);
  it('the share must be beyond 66 %, not at it', () => {
    const withShare = (share: number) =>
      even.map((_, month) => (month >= 3 && month <= 8 ? share / 6 : (1 - share) / 6));
    expect(rainfallZone(withShare(0.67))).toBe('winter');
    expect(rainfallZone(withShare(0.65))).toBe('all-year');
    expect(rainfallZone(withShare(0.35))).toBe('all-year');
    expect(rainfallZone(withShare(0.33))).toBe('summer');
    expect(rainfallZone(withShare(0.67), 'north')).toBe('summer');
  });
  it('no rain says nothing, and fog outranks rain', () => {
    const none = new Array<number>(12).fill(0);
    expect(rainfallZone(none)).toBeUndefined();
    expect(walshLawlerSeasonality(none)).toBeUndefined();
    expect(markhamSeasonality(none)).toBeUndefined();
    expect(originZoneOf(none)).toBeUndefined();
    expect(originZoneOf(none, 120)).toBe('fog-coast');
    expect(originZoneOf(even, 10)).toBe('all-year');
    expect([isFogCoast(30), isFogCoast(29), isFogCoast(undefined)]).toEqual([true, false, undefined]);
  });
  it('the indices reach their ends: 0 for even rain, 11/6 and 1 for one month', () => {
    const july = even.map((_, month) => (month === 6 ? 100 : 0));
    expect(walshLawlerSeasonality(even)).toBe(0);
    expect(walshLawlerSeasonality(july)).toBeCloseTo(11 / 6, 12);
    expect(markhamSeasonality(even)?.concentration).toBeCloseTo(0, 12);
    expect(markhamSeasonality(july)?.concentration).toBeCloseTo(1, 12);
    expect(markhamSeasonality(july)?.peakDeg).toBeCloseTo(195, 10);
    expect([0.1, 0.3, 0.5, 0.7, 0.9, 1.1, 1.5].map(walshLawlerClass)).toHaveLength(7);
    expect(walshLawlerClass(0.19)).toBe('very equable');
  });
  it('refuses eleven months, NaN and negative rain', () => {
    expect(() => rainfallZone(even.slice(1))).toThrow(PhysicsRangeError);
    expect(() => rainfallZone([...even.slice(1), Number.NaN])).toThrow(/rainfall of month 12/);
    expect(() => walshLawlerSeasonality([...even.slice(1), -1])).toThrow(PhysicsRangeError);
  });
});

describe('properties', () => {
  const months = fc.array(fc.double({ min: 0.1, max: 400, noNaN: true }), { minLength: 12, maxLength: 12 });
  it('a year shifted by six months swaps winter and summer, and north and south agree on it', () => {
    fc.assert(
      fc.property(months, (rain) => {
        const shifted = [...rain.slice(6), ...rain.slice(0, 6)];
        expect(rainfallZone(shifted, 'north')).toBe(rainfallZone(rain, 'south'));
        expect(walshLawlerSeasonality(shifted)).toBeCloseTo(walshLawlerSeasonality(rain) as number, 10);
      }),
    );
  });
  it('the indices do not depend on how wet a place is, and stay in their range', () => {
    fc.assert(
      fc.property(months, (rain) => {
        const index = walshLawlerSeasonality(rain) as number;
        expect(index >= 0 && index <= 11 / 6).toBe(true);
        expect(walshLawlerSeasonality(rain.map((value) => value * 3))).toBeCloseTo(index, 10);
        const concentration = markhamSeasonality(rain)?.concentration as number;
        expect(concentration >= 0 && concentration <= 1).toBe(true);
      }),
    );
  });
});

const table = sharedData('rainfall/monthly_rain_climatology_2003_2021.csv');
describe.runIf(table)('measured rain 2003-2021 (CLIMAT messages collected by Deutscher Wetterdienst)', () => {
  const rows = (table ? parse(readFileSync(table), { columns: true }) : []) as Record<string, string>[];
  const zones = new Map(
    rows.map((row) => [
      row.name as string,
      rainfallZone(
        Array.from({ length: 12 }, (_, month) => Number(row[`rain_mm_${String(month + 1).padStart(2, '0')}`])),
      ),
    ]),
  );
  it('every station gets a zone', () => {
    expect(zones.size).toBe(28);
    const notSummer = [...zones].filter(([, zone]) => zone !== 'summer');
    expect(Object.fromEntries(notSummer)).toEqual({
      'Cape Town Airport': 'winter',
      'George Airport': 'all-year',
      'Port Elizabeth': 'all-year',
      // Two islands of the westerlies, far south of the continent.
      'Gough Island': 'all-year',
      'Marion Island': 'all-year',
    });
  });
  it('the stations usually cited come out as cited', () => {
    const cited: Record<string, string[]> = {
      winter: ['Cape Town Airport'],
      'all-year': ['George Airport', 'Port Elizabeth'],
      summer: [
        'Polokwane (Pietersburg)',
        'Mafikeng (Airport)',
        'Pretoria',
        'Upington',
        'Bloemfontein',
        'De Aar',
        'Harare (Kutsaga)',
        'Durban',
      ],
    };
    for (const [zone, names] of Object.entries(cited))
      for (const name of names) expect(zones.get(name), name).toBe(zone);
  });
});
