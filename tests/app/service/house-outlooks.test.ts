import { describe, expect, it } from 'vitest';
import { effectWords, houseOutlooks, ventWords } from '../../../src/app/service/house-outlooks.js';

const effect = (p10: number, p50: number, p90: number) => ({
  day: '2026-06-10',
  maxChangeC: { p10, p50, p90 },
  lightRatio: { p10: 0.4, p50: 0.5, p90: 0.6 },
});

describe('what a cloth would do, in words', () => {
  it.each([
    [[effect(-4, -2.6, -1.2)], 'At the hottest of the day about 2.6 °C less, 1.2 to 4.'],
    // The day on which it does most is the one that counts.
    [[effect(-1.5, -1, -0.5), effect(-4, -3, -2)], 'At the hottest of the day about 3 °C less, 2 to 4.'],
    [[effect(-2, -0.8, 0.5)], 'At the hottest of the day about 0.8 °C less, up to 2.'],
    [[effect(1, 2, 3)], 'At the hottest of the day about 2 °C more, 1 to 3.'],
    [[effect(-0.4, -0.2, 0.1)], 'It would hardly change the heat of the house.'],
  ])('%j', (effects, words) => expect(effectWords(effects)).toBe(words));

  it('nothing where nothing is known', () => expect(effectWords([])).toBeUndefined());
});

describe('what open vents would buy, in words', () => {
  it.each([
    [
      [effect(-3, -1.4, -0.6)],
      'Vents wide open from the morning on: at the hottest of the day about 1.4 °C less, 0.6 to 3.',
    ],
    [[effect(-0.2, -0.1, 0)], 'Vents: by its readings the house has them open in its hottest hours already.'],
  ])('%j', (effects, words) => expect(ventWords(effects)).toBe(words));

  it('nothing where the house has not shown that they cool it', () => expect(ventWords([])).toBeUndefined());
});

it('an outlook that cannot be made is none, and the log knows why', async () => {
  const logged: unknown[] = [];
  const broken = houseOutlooks({
    storage: {} as never,
    keeper: { collection: () => Promise.reject(new Error('the disk is gone')) },
    sites: () => [{ id: 's', houses: [{ id: 'h', cloths: [] }] }] as never,
    catalogue: () => ({}) as never,
    forecastFor: async () => undefined,
    now: () => 0,
    signal: new AbortController().signal,
    logger: { error: (...args: unknown[]) => logged.push(args) } as never,
  });
  expect(await broken.outlook('s', 'h')).toBeUndefined();
  expect(await broken.airUnder('s', 'h', 'c')).toBeUndefined();
  expect(await broken.buys('s', 'h', 'c')).toEqual({});
  await broken.settled();
  expect(await broken.outlook('s', 'h')).toBeUndefined();
  expect(logged.length).toBeGreaterThan(0);
});
