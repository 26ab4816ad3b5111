import { describe, expect, it } from 'vitest';
import { journalEventSchema } from '../../src/domain/journal.js';
import { amountRank } from '../../src/domain/plants.js';
import {
  flagsToMask,
  isQuantity,
  maskToFlags,
  QUANTITIES,
  QUANTITY_NAMES,
  type QuantityInfo,
  READING_FLAGS,
} from '../../src/domain/quantities.js';
import { houseSchema, idSchema, siteSchema } from '../../src/domain/site.js';

describe('quantities', () => {
  it.each(QUANTITY_NAMES)('%s has a range, and checks that agree with it', (name) => {
    const info: QuantityInfo = QUANTITIES[name];
    const [low, high] = info.range;
    expect(low).toBeLessThan(high);
    if (info.clampWithin) {
      expect(info.clampWithin[0]).toBeLessThanOrEqual(low);
      expect(info.clampWithin[1]).toBeGreaterThanOrEqual(high);
    }
    for (const value of info.restValues ?? []) expect(value >= low && value <= high).toBe(true);
    expect(info.holdMinutes).toBeGreaterThan(0);
    // A sensor that is taken for stuck before its value stops counting would be silent for a while in between.
    if (info.stuckAfterMinutes !== undefined) expect(info.stuckAfterMinutes).toBeGreaterThanOrEqual(info.holdMinutes);
  });

  it('are known by their own names only, not by what every object has', () => {
    expect(isQuantity('airTempC')).toBe(true);
    for (const name of ['toString', '__proto__', 'airtempc', '']) expect(isQuantity(name)).toBe(false);
  });

  it('flags survive the mask in any mixture', () => {
    for (let mask = 0; mask < 1 << READING_FLAGS.length; mask++) expect(flagsToMask(maskToFlags(mask))).toBe(mask);
  });

  it('flags keep the place they have in stored readings', () => {
    expect(READING_FLAGS).toEqual([
      'clamped',
      'clock-ahead',
      'clock-behind',
      'late',
      'fast-change',
      'stuck',
      'received-time',
    ]);
  });
});

describe('ids and sites', () => {
  it.each(['a', '7', 'north-house', 'x'.repeat(64)])('%s is an id', (id) =>
    expect(idSchema.safeParse(id).success).toBe(true),
  );
  // These would break topics, addresses or files.
  it.each(['', 'North', 'a b', '-a', 'a/b', '#', '+', '../x', 'ä', 'x'.repeat(65)])('%j is none', (id) =>
    expect(idSchema.safeParse(id).success).toBe(false),
  );

  const SITE = {
    id: 'home',
    name: 'Home',
    latitude: 48.5,
    longitude: 9.5,
    zone: 'Europe/Berlin',
    houses: [{ id: 'north', name: 'North' }],
  };
  it.each([
    ['a latitude beyond the pole', { latitude: 90.1 }],
    ['a longitude beyond the date line', { longitude: -180.1 }],
    ['NaN', { latitude: Number.NaN }],
    ['a zone that is none', { zone: 'Berlin' }],
    ['no house', { houses: [] }],
    ['a time that is none', { roundAt: '24:00' }],
    ['a time without quotes in YAML, a number', { roundAt: 300 }],
    ['a key nobody knows', { lattitude: 48.5 }],
  ])('%s is refused', (_what, change) => {
    expect(siteSchema.safeParse(SITE).success).toBe(true);
    expect(siteSchema.safeParse({ ...SITE, ...change }).success).toBe(false);
  });

  it('a house is unheated single glass unless it says otherwise', () => {
    const house = houseSchema.parse({ id: 'north', name: 'North' });
    expect(house).toEqual({ id: 'north', name: 'North', cover: 'single-glass', fans: false, cloths: [], lines: [] });
  });
});

describe('journal events', () => {
  it.each([
    ['a kind nobody knows', { kind: 'burnt' }],
    ['a watering of nobody', { kind: 'watering', batchIds: [], amount: 'full' }],
    ['half a pot', { kind: 'loss', batchId: 'a', potCount: 0.5, cause: 'rot' }],
    ['no pot', { kind: 'loss', batchId: 'a', potCount: 0, cause: 'rot' }],
    ['an endless amount', { kind: 'watering', batchIds: ['a'], amount: 'full', mlPerPot: Number.POSITIVE_INFINITY }],
    [
      'a day that is none',
      { kind: 'batch-created', batchId: 'a', name: 'A', group: 'x', benchId: 'b', potCount: 1, sownOn: '2026-02-30' },
    ],
    ['a name of blanks', { kind: 'batch-changed', batchId: 'a', name: '   ' }],
    ['a key nobody knows', { kind: 'cloth', houseId: 'n', clothId: null, colour: 'white' }],
  ])('%s is refused', (_what, event) => {
    expect(journalEventSchema.safeParse(event).success).toBe(false);
  });

  it('amounts rise from none to full', () => {
    expect((['none', 'light', 'full'] as const).map(amountRank)).toEqual([0, 1, 2]);
  });
});
