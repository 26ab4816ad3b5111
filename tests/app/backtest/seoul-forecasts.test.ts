import { expect, it } from 'vitest';
import { backtestSeoul } from '../../../src/app/backtest/seoul-forecasts.js';
import { sharedData } from '../../support/shared-data.js';

const FILE = 'weather/wx_seoul_forecasts/Bias_correction_ucl.csv.gz';
const path = sharedData(FILE);

it.runIf(path)(
  'Seoul, summer 2015 told from those of 2013 and 2014 (UCI repository; Cho et al. 2020): within 1.35 °C, beside 1.46 raw and 2.16 same as today',
  () => {
    const scores = backtestSeoul((path as string).slice(0, -FILE.length));
    console.log(`Seoul ${scores.year}: corrected ${scores.correctedMaeC.toFixed(3)} °C over ${scores.days} forecasts`);
    expect(scores.year).toBe('2015');
    expect(scores.days).toBe(1533);
    expect(scores.rawMaeC).toBeCloseTo(1.456, 3);
    expect(scores.persistenceMaeC).toBeCloseTo(2.164, 3);
    expect(scores.correctedMaeC).toBeLessThan(1.12);
    expect(scores.learningOnMaeC).toBeLessThan(1.12);
    // What the predictors add to station offsets alone.
    expect(scores.correctedMaeC).toBeLessThan(scores.offsetsMaeC);
  },
);
