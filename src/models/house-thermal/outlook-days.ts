/** The highest and lowest of the days and nights to come, and the hours moved so that they reach them. */
import { type Band, certainBand, mapBand } from '../../domain/outlook.js';
import { addDays, type LocalDay } from '../../domain/time.js';
import { quantile } from '../../science/statistics/quantiles.js';
import type { ThermalDay } from './days.js';
import { measuredNight, nightSpan, nightsAhead } from './nights.js';
import { type Curve, type CurveHour, NO_PLAY, widened } from './outlook-curve.js';
import type { OutlookInput } from './outlook-input.js';
import type { SkyHour } from './record.js';

/** Days that are told, today with them. */
export const DAYS_AHEAD = 4;

/** Day maxima as the walk foretold them, widened by the weather; of today what was measured already counts. */
export function expectedMaxima(
  input: OutlookInput,
  curve: Curve,
  today: LocalDay,
  knownHours: number,
): Map<LocalDay, Band> {
  const forecasts = input.walk.mornings.at(-1)?.forecasts ?? [];
  const maxima = new Map<LocalDay, Band>();
  for (let lead = 0; lead < DAYS_AHEAD; lead += 1) {
    const day = addDays(today, lead);
    const rows = input.days.find((one) => one.day === day);
    if (!rows) continue;
    const ahead = curve.hours.filter(({ index }) => index >= rows.first && index < rows.end);
    const top = ahead.reduce<CurveHour | undefined>(
      (best, hour) => (best === undefined || hour.airTempC.p50 > best.airTempC.p50 ? hour : best),
      undefined,
    );
    const weather = (top && curve.weather[top.index - knownHours]) ?? NO_PLAY;
    const foretold = forecasts.find((one) => one.day === day)?.maxC;
    // A day of which hours are missing has no highest, unless the walk foretold it.
    const whole = ahead.length >= Math.min(rows.end - Math.max(rows.first, knownHours), 18);
    const told = foretold ? widened(foretold, weather) : lead > 0 && top && whole ? top.airTempC : undefined;
    const band = told && input.isGuess ? asFarAs(told, apart(input.days, lead + 1)) : told;
    const known = lead === 0 ? todayBand(input, rows, ahead, band, knownHours) : band;
    if (known) maxima.set(day, known);
  }
  return maxima;
}

/** Days compared to see how far apart the highest of two days lie. */
const DAYS_COMPARED = 40;

/** How the highest of days that lie so far apart differ: one in ten by less than the first, one in ten by more than the second. */
function apart(days: readonly ThermalDay[], by: number): readonly [number, number] {
  const differences = days.slice(-DAYS_COMPARED).flatMap(({ maxC }, at, last) => {
    const before = last[at - by]?.maxC ?? null;
    return maxC === null || before === null ? [] : [maxC - before];
  });
  return differences.length < 5 ? [0, 0] : [quantile(differences, 0.1), quantile(differences, 0.9)];
}

/** A band at least as wide as days so far apart differ. */
const asFarAs = ({ p10, p50, p90 }: Band, [down, up]: readonly [number, number]): Band => ({
  p10: Math.min(p10, p50 + down),
  p50,
  p90: Math.max(p90, p50 + up),
});

/** A day that is under way: never below what was measured, and no more than that once its warm hours are over. */
function todayBand(
  { hours }: OutlookInput,
  rows: ThermalDay,
  ahead: readonly CurveHour[],
  foretold: Band | undefined,
  knownHours: number,
): Band | undefined {
  const past = hours.slice(rows.first, Math.min(rows.end, knownHours));
  const highs = past.flatMap(({ insideMaxC }) => insideMaxC ?? []);
  const measured = highs.length > 0 ? Math.max(...highs) : undefined;
  const coming = ahead.map(({ airTempC }) => airTempC);
  const highest = (pick: (band: Band) => number): number => Math.max(...coming.map(pick));
  // Hours that nobody tells may be the warmest.
  const whole = isWhole(rows, ahead, knownHours);
  const rest =
    whole && coming.length > 0
      ? { p10: highest((b) => b.p10), p50: highest((b) => b.p50), p90: highest((b) => b.p90) }
      : undefined;
  const isOver =
    whole && measured !== undefined && (rest === undefined || rest.p50 < measured) && past.length > ahead.length;
  const band = isOver ? (rest ?? certainBand(measured)) : (foretold ?? rest);
  if (band === undefined || measured === undefined) return band;
  return mapBand(band, (value) => Math.max(value, measured));
}

/** Whether all hours are foretold that are left of a span. */
const isWhole = (
  span: { readonly first: number; readonly end: number },
  ahead: readonly CurveHour[],
  knownHours: number,
): boolean => ahead.length >= span.end - Math.max(span.first, knownHours);

export function nightMinima(
  input: OutlookInput,
  curve: Curve,
  today: LocalDay,
  knownHours: number,
): Map<LocalDay, Band> {
  const { hours, days, walk, place } = input;
  const told = nightsAhead(walk.mornings, hours, days, place.zone, knownHours);
  const minima = new Map<LocalDay, Band>();
  for (let lead = 0; lead < DAYS_AHEAD; lead += 1) {
    const day = addDays(today, lead);
    const span = nightSpan(hours, place.zone, day);
    const measured = measuredNight(hours, { ...span, end: Math.min(span.end, knownHours) }, knownHours);
    const ahead = curve.hours.filter(({ index }) => index >= span.first && index < span.end);
    const low = ahead.reduce<CurveHour | undefined>(
      (best, hour) => (best === undefined || hour.airTempC.p50 < best.airTempC.p50 ? hour : best),
      undefined,
    );
    const weather = (low && curve.weather[low.index - knownHours]) ?? NO_PLAY;
    const foretold = told.find((one) => one.day === day)?.minC;
    const whole = isWhole(span, ahead, knownHours);
    const coming = foretold ? widened(foretold, weather) : low && whole ? low.airTempC : undefined;
    const band = span.first < knownHours ? atMost(measured, coming, ahead, whole) : coming;
    if (band) minima.set(day, band);
  }
  return minima;
}

/** With fewer hours than this left of a night its coldest are over (starting value). */
const MORNING_HOURS = 8;

/** A night that is under way: never above what was measured; over when the hours that are left are warmer. */
function atMost(
  measured: number | null,
  coming: Band | undefined,
  ahead: readonly CurveHour[],
  whole: boolean,
): Band | undefined {
  if (measured === null) return coming;
  const over = whole && ahead.length < MORNING_HOURS && ahead.every(({ airTempC }) => airTempC.p50 > measured);
  if (over) return certainBand(measured);
  return coming && mapBand(coming, (value) => Math.min(value, measured));
}

/** The curve moved so that its days and nights reach what is foretold of them. */
export function shapedTo(
  curve: Curve,
  hours: readonly SkyHour[],
  maxima: ReadonlyMap<LocalDay, Band>,
  nights: ReadonlyMap<LocalDay, Band>,
  today: LocalDay,
): CurveHour[] {
  const byDay = new Map<LocalDay, CurveHour[]>();
  for (const hour of curve.hours) {
    const { day } = hours[hour.index] as SkyHour;
    byDay.set(day, [...(byDay.get(day) ?? []), hour]);
  }
  return [...byDay].flatMap(([day, rows]) => {
    const middles = rows.map(({ airTempC }) => airTempC.p50);
    const [low, high] = [Math.min(...middles), Math.max(...middles)];
    // Of a day that is mostly over the hours left say nothing of its extremes.
    const complete = day !== today || rows.length >= 18;
    const [max, min] = [maxima.get(day), nights.get(day)];
    const up = complete && max ? max.p50 - high : 0;
    const down = complete && min ? min.p50 - low : 0;
    return rows.map(({ index, airTempC }) => {
      const share = high - low < 0.1 ? 0.5 : (airTempC.p50 - low) / (high - low);
      const move = share * up + (1 - share) * down;
      return {
        index,
        airTempC: mapBand(airTempC, (value) => value + move),
      };
    });
  });
}
