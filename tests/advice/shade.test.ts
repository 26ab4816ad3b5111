import { describe, expect, it } from 'vitest';
import type { HouseWeather } from '../../src/advice/house-weather.js';
import { type ShadeParts, shadeOf, shadeSince } from '../../src/advice/shade.js';
import { houseSchema } from '../../src/domain/site.js';
import { instantOnDay } from '../../src/domain/time.js';
import type { BatchAdvice, Verdict } from '../../src/domain/verdict.js';
import { group } from '../models/catalogue.js';

const ZONE = 'Europe/Berlin';
const DAY = '2026-06-10';
const AT = instantOnDay(ZONE, DAY, '05:00');
const house = houseSchema.parse({
  id: 'h',
  name: 'House',
  cloths: [
    { id: 'white-30', name: 'White 30 %', shadePct: 30 },
    { id: 'black-50', name: 'Black 50 %', shadePct: 50 },
  ],
});
const batch = (name: string, minPct: number | null | undefined, more: Partial<BatchAdvice> = {}): BatchAdvice =>
  ({
    batchId: name.toLowerCase(),
    name,
    group: 'conophytum',
    benchId: `b-${name}`,
    benchName: `Bench of ${name}`,
    potCount: 20,
    phase: { phase: 'dormant-warm', probability: 1, from: 'entered' },
    verdict: {
      ...(minPct !== undefined && { shade: minPct === null ? null : { minPct, maxPct: minPct + 10 } }),
      trace: [
        {
          table: 'light',
          row: 'warm-rest',
          met: 'yes',
          conditions: [],
          effect: 'shade',
          because: 'Shaded through the warm rest.',
        },
      ],
    } as unknown as Verdict,
    ...more,
  }) as BatchAdvice;
const parts = (batches: readonly BatchAdvice[], more: Partial<ShadeParts> = {}): ShadeParts => ({
  zone: ZONE,
  atMs: AT,
  day: DAY,
  house,
  hungId: null,
  weather: { hung: { transmission: 1, since: null } } as unknown as HouseWeather,
  input: { recent: {}, tonight: {}, ahead: { dli: [24, 22, 20], peakPpfdUmol: [1000, 900, 800] } },
  batches,
  groupOf: (one) => group(one.group),
  ...more,
});

describe('the shade of a house in words', () => {
  it('is left out where no batch knows its light', () => {
    expect(shadeOf(parts([batch('A', undefined)]))).toBeUndefined();
  });

  it('says what to hang, for whom, why, and what it does to the light', () => {
    const shade = shadeOf(parts([batch('A', 40), batch('B', null)]));
    expect(shade).toMatchObject({
      clothId: 'black-50',
      sentence: 'Hang Black 50 %, for A.',
      reason: 'Shaded through the warm rest.',
      buys: 'The brightest hour comes to about 500 µmol m⁻² s⁻¹ instead of 1000.',
      warnings: [],
    });
  });

  it('adds what the model of the house knows of the air under it', () => {
    const shade = shadeOf(parts([batch('A', 40)], { airUnder: (id) => `${id}: about 3 °C less at noon, 1 to 5.` }));
    expect(shade?.buys).toMatch(/instead of 1000\. black-50: about 3 °C less at noon, 1 to 5\.$/);
  });

  it('tells apart leaving on, taking off, and a lighter one as a step', () => {
    const hung = {
      hungId: 'black-50',
      weather: { hung: { transmission: 0.5, since: DAY } } as unknown as HouseWeather,
    };
    expect(shadeOf(parts([batch('A', 40)], hung))?.sentence).toBe('Leave Black 50 % on, for A.');
    expect(shadeOf(parts([batch('A', null)], hung))?.sentence).toBe(
      'Take off Black 50 %: nothing here needs cloth now.',
    );
    expect(shadeOf(parts([batch('A', 20)], hung))?.sentence).toBe(
      'Change Black 50 % for White 30 %, for A. It is lighter: a step towards more light.',
    );
    expect(shadeOf(parts([batch('A', null)]))?.sentence).toBe('No cloth is wanted.');
  });

  it('gives the hours where the outlook tells them', () => {
    const at = instantOnDay(ZONE, DAY, '09:00');
    const hours = [400, 700, 1000, 650, 300].map((ppfdUmol, index) => ({
      at: at + index * 3_600_000,
      airTempC: { p10: 1, p50: 2, p90: 3 },
      ppfdUmol,
    }));
    const outlook = { houseId: 'h', issuedAt: 0, basis: 'forecast', from: '', hours, days: [], learned: [] } as const;
    // 40 % of a peak of 1000 held back leaves 600: brighter from 10 to 13 o'clock.
    expect(shadeOf(parts([batch('A', 40)], { outlook }))?.sentence).toBe(
      'Hang Black 50 %, for A. It must hang today from 10:00 to 13:00.',
    );
  });

  it('leaves a bench that needs more to a piece of its own where the house would stretch', () => {
    // Echeveria stretches below 10 mol a day: 22 under 50 % are 11, so of 18 they would be 9.
    const growing = batch('E', null, {
      group: 'echeveria',
      phase: { phase: 'growing', probability: 1, from: 'entered' },
      potCount: 90,
    });
    const dim = { recent: {}, tonight: {}, ahead: { dli: [18, 18, 18] } };
    expect(shadeOf(parts([batch('A', 40), growing], { input: dim }))).toMatchObject({
      clothId: null,
      sentence: 'No cloth is wanted.',
      benches: [{ sentence: 'Bench of A needs more than the house: hang a piece of Black 50 % over it, for A.' }],
    });
  });

  it('counts from the first of the lists that asked for the same cloth', () => {
    const earlier = shadeOf(parts([batch('A', 40)]));
    const later = shadeOf(parts([batch('A', 40)], { atMs: AT + 3_600_000 }));
    const lighter = shadeOf(parts([batch('A', 20)], { atMs: AT + 3_600_000 }));
    if (!earlier || !later || !lighter) throw new Error('no shade was advised');
    expect(shadeSince(later, earlier).since).toBe(AT);
    expect(shadeSince(lighter, earlier).since).toBe(AT + 3_600_000);
    expect(shadeSince(later, undefined).since).toBe(AT + 3_600_000);
  });

  it('speaks of steps where plants come into more light', () => {
    const used = batch('A', null);
    const ramp = { ...used, verdict: { ...used.verdict, lightRamp: true } };
    const hung = {
      hungId: 'black-50',
      weather: { hung: { transmission: 0.5, since: DAY } } as unknown as HouseWeather,
    };
    expect(shadeOf(parts([ramp], hung))?.sentence).toBe(
      'Take off Black 50 %: nothing here needs cloth now. Give 1 batch the new light in steps over days.',
    );
  });

  it('names whom no cloth in store is enough for', () => {
    expect(shadeOf(parts([batch('A', 80)]))?.warnings).toEqual([
      'No cloth in store is enough for A: stand them in the shade of the house.',
    ]);
  });
});
