import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { BatchAdvice, HouseAdvice } from '../../../src/domain/verdict.js';
import { diskLow, listNotDone } from '../../../src/models/alert-kinds/chores.js';
import { type ClothFacts, clothNotAsAdvised } from '../../../src/models/alert-kinds/cloth.js';
import {
  atRisk,
  degrees,
  degreesOf,
  percent,
  probabilityAbove,
  probabilityBelow,
} from '../../../src/models/alert-kinds/finding.js';
import { alertLimitsOf } from '../../../src/models/alert-limits.js';

describe('the probability of a band', () => {
  const bandArbitrary = fc
    .tuple(
      fc.double({ min: -20, max: 50, noNaN: true }),
      fc.double({ min: 0, max: 10, noNaN: true }),
      fc.double({ min: 0, max: 10, noNaN: true }),
    )
    .map(([p50, below, above]) => ({ p10: p50 - below, p50, p90: p50 + above }));

  it('is 90, 50 and 10 % at its own points', () => {
    const band = { p10: 30, p50: 33, p90: 35 };
    expect(probabilityAbove(band, 30)).toBeCloseTo(0.9, 6);
    expect(probabilityAbove(band, 33)).toBeCloseTo(0.5, 12);
    expect(probabilityAbove(band, 35)).toBeCloseTo(0.1, 6);
  });

  it('falls as the limit rises, and with its opposite makes one', () => {
    fc.assert(
      fc.property(
        bandArbitrary,
        fc.double({ min: -40, max: 70, noNaN: true }),
        fc.double({ min: 0.01, max: 5, noNaN: true }),
        (band, limit, more) => {
          const above = probabilityAbove(band, limit);
          expect(above).toBeGreaterThanOrEqual(0);
          expect(above).toBeLessThanOrEqual(1);
          expect(probabilityAbove(band, limit + more)).toBeLessThanOrEqual(above + 1e-12);
          if (band.p90 > band.p10 + 0.01 && limit !== band.p50)
            expect(probabilityBelow(band, limit)).toBeCloseTo(1 - above, 9);
        },
      ),
      { numRuns: 1000 },
    );
  });

  it('is certain where the band has no width', () => {
    const band = { p10: 35, p50: 35, p90: 35 };
    expect([probabilityAbove(band, 34.9), probabilityAbove(band, 35), probabilityAbove(band, 35.1)]).toEqual([1, 1, 0]);
  });
});

describe('words', () => {
  it('name the first batches at risk and count the rest', () => {
    const batch = (name: string) => ({
      batchId: name,
      name,
      benchName: 'Bench 1',
      waterPhase: null,
      verdictAlerts: [],
      damageDayMaxC: 40,
      minSafeDryC: 0,
    });
    const all = ['A', 'B', 'C', 'D', 'E', 'F', 'G'].map(batch);
    expect(atRisk([], all)).toBe('');
    expect(atRisk(all.slice(0, 2), all)).toBe('At risk: A (Bench 1) and B (Bench 1).');
    expect(atRisk(all.slice(0, 6), all)).toBe(
      'At risk: A (Bench 1), B (Bench 1), C (Bench 1), D (Bench 1) and 2 more.',
    );
    expect(atRisk(all, all)).toBe('At risk: all 7 batches.');
  });

  it('round as people do', () => {
    expect([degrees(36.6), degrees(1.44), degrees(-0.04), degrees(-3)]).toEqual(['37 °C', '1.4 °C', '0 °C', '-3 °C']);
    expect(degreesOf({ p10: 33.6, p50: 36.6, p90: 38.4 })).toBe('37 °C (34 to 38)');
    expect([percent(0.99), percent(0.42), percent(0.01)]).toEqual(['nearly sure', '40 % likely', '5 % likely']);
  });
});

describe('cloth', () => {
  const clothFacts = (share: number, wanted: ClothFacts['wanted'], more: Partial<ClothFacts> = {}): ClothFacts => ({
    at: Date.UTC(2026, 6, 1, 12),
    zone: 'Europe/Berlin',
    houseId: 'north',
    houseName: 'North house',
    limits: alertLimitsOf(),
    cloths: [
      { id: 'white', name: 'White cloth', shadePct: 30 },
      { id: 'black', name: 'Black cloth', shadePct: 60 },
    ],
    wanted,
    pairs: Array.from({ length: 24 }, (_, i) => ({
      inside: (600 + 10 * i) * share,
      above: 600 + 10 * i,
      sunAltitudeDeg: 50,
    })),
    coverTransmission: 0.65,
    coverSpread: 0.1,
    batches: [{ batchId: 'stones' }],
    ...more,
  });
  const since = Date.UTC(2026, 6, 1, 6);

  it('that was entered but does not hang is told', () => {
    const finding = clothNotAsAdvised(clothFacts(0.64, { clothId: 'black', since, by: 'journal' }));
    expect(finding).toMatchObject({ level: 1, detail: { batchIds: ['stones'] } });
    expect(finding.known === true && finding.level !== 0 && finding.detail.text).toMatchObject({
      title: 'Another cloth hangs in North house than entered',
      reason:
        'The journal says since 1 July, 08:00: Black cloth. But 64 % of the light outside comes in, where about 26 % is expected: that is like no cloth.',
      caution: expect.stringContaining('never from a ladder over glass'),
    });
  });

  it('that was advised and does not hang is told', () => {
    const finding = clothNotAsAdvised(clothFacts(0.65, { clothId: 'white', since, by: 'advice' }));
    expect(finding).toMatchObject({ level: 1, detail: { text: { title: expect.stringContaining('than advised') } } });
  });

  it('that hangs as it should is well', () => {
    for (const [share, clothId] of [
      [0.26, 'black'],
      [0.45, 'white'],
      [0.65, null],
    ] as const)
      expect(clothNotAsAdvised(clothFacts(share, { clothId, since, by: 'journal' }))).toMatchObject({
        level: 0,
        clear: true,
      });
  });

  it('cannot be told from few readings, or while nobody said what should hang', () => {
    const wanted = { clothId: 'black', since, by: 'journal' } as const;
    expect(clothNotAsAdvised(clothFacts(0.64, wanted, { pairs: [] }))).toMatchObject({ known: false });
    expect(clothNotAsAdvised(clothFacts(0.64, undefined))).toMatchObject({ known: false });
    expect(clothNotAsAdvised(clothFacts(0.64, { ...wanted, clothId: 'sold' }))).toMatchObject({ known: false });
  });

  it('is no matter where none is in store', () => {
    expect(clothNotAsAdvised(clothFacts(0.64, undefined, { cloths: [] }))).toMatchObject({ level: 0, clear: true });
  });
});

describe('the list', () => {
  const advice = (batchId: string, amount: 'none' | 'light', done: boolean): BatchAdvice =>
    ({
      batchId,
      name: `Tray ${batchId}`,
      benchName: 'Bench 1',
      verdict: { amount },
      ...(done && { done: { entryId: 1, at: 0, by: 'Ada', answer: 'skipped', amount: 'none' } }),
    }) as unknown as BatchAdvice;
  const house = (...batches: BatchAdvice[]): HouseAdvice => ({ lines: [{ batches }] }) as unknown as HouseAdvice;
  const listed = (clockHours: number, given: HouseAdvice | undefined) =>
    listNotDone({ houseId: 'north', houseName: 'North house', limits: alertLimitsOf(), clockHours, advice: given });

  it('is late from eleven on while a drink is neither given nor left out', () => {
    const open = house(advice('1', 'light', true), advice('2', 'light', false), advice('3', 'none', false));
    // The work of the day before that is still open then was never done: it is gone, not over.
    expect(listed(10.9, open)).toMatchObject({ known: 'gone' });
    expect(listed(11, open)).toMatchObject({
      level: 1,
      detail: {
        batchIds: ['2'],
        text: { reason: 'It is past 11:00 and 1 of 2 drinks of today is not ticked off: Tray 2 (Bench 1).' },
      },
    });
  });

  it('is done when every drink was answered, or none was due', () => {
    expect(listed(15, house(advice('1', 'light', true), advice('3', 'none', false)))).toMatchObject({
      level: 0,
      clear: true,
    });
    expect(listed(15, house())).toMatchObject({ level: 0, clear: true });
  });

  it('that was never made says nothing', () => {
    expect(listed(15, undefined)).toMatchObject({ known: false });
  });
});

describe('the disk', () => {
  const MB = 1024 * 1024;
  it.each([
    [1300, { level: 0, clear: true }],
    [1100, { level: 0, clear: false }],
    [900, { level: 1 }],
    [150, { level: 2 }],
  ])('with %d MB free', (freeMb, expected) => {
    expect(diskLow({ limits: alertLimitsOf(), freeBytes: freeMb * MB })).toMatchObject(expected);
  });

  it('that cannot be asked says nothing', () => {
    expect(diskLow({ limits: alertLimitsOf(), freeBytes: undefined })).toMatchObject({ known: false });
  });
});
