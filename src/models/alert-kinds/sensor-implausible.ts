import { type Quantity, quantityInfo, type RollUp } from '../../domain/quantities.js';
import { type LocalDay, shortDay } from '../../domain/time.js';
import { median } from '../../science/statistics/quantiles.js';
import { sunPosition } from '../../science/sun.js';
import { MS_PER_HOUR } from '../../science/units.js';
import type { AlertLimits } from '../alert-limits.js';
import {
  type ChannelFacts,
  doubtedSensors,
  LIGHT,
  REFUSED_HOURS,
  type SensorFinding,
  type SiteSensors,
} from './sensor-facts.js';

/*
 * Implausible sensors: most readings out of range, or a change from one day to the next that no weather makes, such as a
 * light channel that changes its unit. A change is told from the first day until two weeks of the new kind are all there
 * is, or until the mapping is mended.
 */

/** Quantities with a natural nought, so that a change of unit is a factor. */
const FROM_NOUGHT: readonly Quantity[] = [...LIGHT, 'relHumidityPct', 'co2Ppm', 'substrateEcMsCm', 'potWeightG'];
/** Fewer days before the change than this are no measure. */
const FEWEST_DAYS = 3;
/** A dark day is dimmer than a bright one by more than the bright is brighter than the dull: the way down needs more. */
const DOWN_NEEDS = 2.5;
const FEWEST_REFUSED = 5;
/** A day cannot be called dim before the sun stood so high for so long. */
const HIGH_SUN_DEG = 20;
const SUN_HOURS = 4;

/** Factors by which units are mistaken for each other, and how it is said. */
const FACTORS: readonly { readonly factor: number; readonly of: readonly Quantity[]; readonly inWords: string }[] = [
  { factor: 1000, of: FROM_NOUGHT, inWords: 'a thousandfold, as between kilolux and lux, or kilo and plain units' },
  { factor: 100, of: ['relHumidityPct'], inWords: 'a hundredfold, as between a fraction and per cent' },
  { factor: 54, of: LIGHT, inWords: 'as between lux and µmol of sunlight' },
];
/** As near as the weather of two days lets it be told. */
const FACTOR_WITHIN = 2.5;

type Day = RollUp & { readonly day: LocalDay };

interface Jump {
  /** First day of the new kind. */
  readonly day: LocalDay;
  /** Highest since then, and on the days before. */
  readonly now: number;
  readonly before: number;
}

/** A day from which on every day is far beyond, or far below, every day before. */
function jumpOf(days: readonly Day[], limits: AlertLimits): Jump | undefined {
  const lit = days.filter(({ max }) => max > 0);
  const factor = limits.sensorJumpFactor;
  for (let split = FEWEST_DAYS; split < lit.length; split += 1) {
    const before = lit.slice(0, split).map(({ max }) => max);
    const after = lit.slice(split).map(({ max }) => max);
    const { day } = lit[split] as Day;
    const now = Math.max(...after);
    if (Math.min(...after) > factor * Math.max(...before)) return { day, now, before: Math.max(...before) };
    if (now * factor * DOWN_NEEDS < median(before) && now < Math.min(...before))
      return { day, now, before: median(before) };
  }
  return undefined;
}

/** Whether today's light has been there long enough to be held against whole days. */
function isDayJudged(site: SiteSensors, { quantity, days, hours }: ChannelFacts): boolean {
  const startMs = days.at(-1)?.startMs;
  if (startMs === undefined || !LIGHT.includes(quantity)) return true;
  const isSunny = (hour: RollUp): boolean =>
    hour.startMs >= startMs &&
    sunPosition(hour.startMs + MS_PER_HOUR / 2, site.latitude, site.longitude).altitudeDeg >= HIGH_SUN_DEG;
  return hours.filter(isSunny).length >= SUN_HOURS;
}

function jumpSentence(site: SiteSensors, channel: ChannelFacts, limits: AlertLimits): string | undefined {
  const { quantity, days } = channel;
  if (!FROM_NOUGHT.includes(quantity)) return undefined;
  const whole = isDayJudged(site, channel);
  // A morning may be brighter already than any day before, but it cannot be called dim.
  const bright = Math.max(0, ...days.slice(0, -1).map(({ max }) => max));
  const jump = jumpOf(whole || (days.at(-1)?.max ?? 0) > bright ? days : days.slice(0, -1), limits);
  if (jump === undefined) return undefined;
  const { label, unit } = quantityInfo(quantity);
  const up = jump.now > jump.before;
  const ratio = up ? jump.now / jump.before : jump.before / jump.now;
  const away = (factor: number): number => Math.abs(Math.log(ratio / factor));
  const [nearest] = FACTORS.filter(({ of }) => of.includes(quantity)).sort((a, b) => away(a.factor) - away(b.factor));
  // The factor is told from a day that is over, or that has been bright for long enough.
  const isWhole = whole || jump.day !== days.at(-1)?.day || !LIGHT.includes(quantity);
  const isTelling = isWhole && nearest !== undefined && away(nearest.factor) < Math.log(FACTOR_WITHIN);
  const times = ratio >= 100 ? Math.round(ratio / 10) * 10 : Math.round(ratio);
  return [
    `Since ${shortDay(jump.day)} its ${label} is about ${times} times ${up ? 'higher' : 'lower'} than before: up to ${plain(jump.now)} ${unit}, on the days before up to ${plain(jump.before)} ${unit}.`,
    isTelling ? `It looks as if its unit was changed (${nearest.inWords}).` : 'No weather does that.',
  ].join(' ');
}

const plain = (value: number): string => String(Number(value.toPrecision(3)));

/** Air or substrate that was Celsius and reads like Fahrenheit now. */
const WARM_JUMP_C = 15;
const FAHRENHEIT_WITHIN_C = 8;

function fahrenheitSentence(channel: ChannelFacts): string | undefined {
  const { quantity } = channel;
  if (quantity !== 'airTempC' && quantity !== 'substrateTempC') return undefined;
  // A day that stood still is a stuck sensor's, and no measure of the days after it.
  const days = channel.days.filter(({ min, max }) => min !== max);
  for (let split = FEWEST_DAYS; split < days.length; split += 1) {
    const before = days.slice(0, split).map(({ mean }) => mean);
    const usual = median(before);
    const isSo = days.slice(split).every(({ mean }) => {
      const celsius = (mean - 32) / 1.8;
      return mean - Math.max(...before) > WARM_JUMP_C && Math.abs(celsius - usual) < FAHRENHEIT_WITHIN_C;
    });
    const { day, mean } = days[split] as Day;
    if (isSo)
      return `Since ${shortDay(day)} its ${quantityInfo(quantity).label} reads ${Math.round(mean)} °C on average, before it was ${Math.round(usual)} °C. It looks as if it sends °F now.`;
  }
  return undefined;
}

function refusedSentence(site: SiteSensors, channel: ChannelFacts, limits: AlertLimits): string | undefined {
  const { refused, hours } = channel;
  if (refused === null || refused.count < FEWEST_REFUSED) return undefined;
  const kept = hours
    .filter(({ startMs }) => startMs >= site.at - REFUSED_HOURS * MS_PER_HOUR)
    .reduce((sum, { count }) => sum + count, 0);
  const sharePct = (100 * refused.count) / (refused.count + kept);
  if (sharePct < limits.sensorRefusedPct) return undefined;
  return `${refused.count} of its last ${refused.count + kept} readings could not be true and were not kept. The last one: ${refused.lastSentence}`;
}

export const implausibleSensors = (site: SiteSensors): SensorFinding[] =>
  doubtedSensors(site, {
    kind: 'sensor-implausible',
    why: (_, channel, limits) =>
      refusedSentence(site, channel, limits) ?? jumpSentence(site, channel, limits) ?? fahrenheitSentence(channel),
    word: 'cannot be right',
    whatToDo:
      'Look at the device and at its mapping in the site file: does it send another unit than is written there? What it told since then is best not believed.',
  });
