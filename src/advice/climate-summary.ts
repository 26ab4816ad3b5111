import type { HouseClimateSummary } from '../domain/verdict.js';
import { type ClimateDay, type ClimateFigure, meanFigure } from '../models/house-climate.js';
import { lastNightOf } from './ahead.js';
import type { HouseWeather } from './house-weather.js';

/** A house that was silent this long is not called heard. */
const SILENT_MS = 3 * 3_600_000;

/** The climate of a house in a few figures and one sentence. */
export function summaryOf(weather: HouseWeather | undefined, atMs: number): HouseClimateSummary {
  const yesterday = weather?.past.at(-1);
  const lastNight = weather && lastNightOf(weather);
  const value = (figure: ClimateFigure | undefined) => (figure ? Math.round(figure.value * 10) / 10 : null);
  const summary = {
    nightMinC: value(lastNight?.nightMinC),
    dayMaxC: value(yesterday?.dayMaxC),
    meanVpdKPa: yesterday?.meanVpdKPa ? Math.round(yesterday.meanVpdKPa.value * 100) / 100 : null,
    dli: value(yesterday?.dli),
    peakPpfdUmol: yesterday?.peakPpfdUmol ? Math.round(yesterday.peakPpfdUmol.value) : null,
    dewPointMarginMinC: value(lastNight?.dewMarginMinC),
    sensorsHeard: weather?.sensorsHeard ?? 0,
    lastReadingAt: weather?.lastReadingAt ?? null,
  };
  return { ...summary, sentence: sentenceOf(summary, weather, atMs) };
}

function sentenceOf(
  summary: Omit<HouseClimateSummary, 'sentence'>,
  weather: HouseWeather | undefined,
  atMs: number,
): string {
  if (summary.lastReadingAt === null) return 'No sensor has been heard in this house.';
  const parts: string[] = [];
  if (summary.nightMinC !== null) parts.push(`Last night down to ${summary.nightMinC} °C`);
  if (summary.dayMaxC !== null) parts.push(`yesterday up to ${summary.dayMaxC} °C`);
  if (summary.dli !== null) parts.push(`daily light ${Math.round(summary.dli)} mol/m²${usualLight(weather)}`);
  const told = parts.length === 0 ? 'Too few readings to tell last night or yesterday.' : `${parts.join(', ')}.`;
  const first = told.charAt(0).toUpperCase() + told.slice(1);
  const silent = atMs - summary.lastReadingAt;
  return silent > SILENT_MS ? `${first} No reading for ${Math.round(silent / 3_600_000)} hours.` : first;
}

function usualLight(weather: HouseWeather | undefined): string {
  const pick = (day: ClimateDay) => day.dli;
  const usual = weather && meanFigure(weather.past.slice(-8, -1), pick);
  const yesterday = weather?.past.at(-1)?.dli;
  if (!usual || !yesterday) return '';
  if (yesterday.value > usual.value * 1.25) return ', brighter than the week before';
  if (yesterday.value < usual.value * 0.75) return ', duller than the week before';
  return '';
}
