import { quantityInfo, type RollUp } from '../../domain/quantities.js';
import { durationInWords } from '../../domain/time.js';
import { sunPosition } from '../../science/sun.js';
import { MS_PER_HOUR } from '../../science/units.js';
import type { AlertLimits } from '../alert-limits.js';
import { MAINS_CAUTION } from './finding.js';
import {
  type ChannelFacts,
  doubtedSensors,
  LIGHT,
  type SensorFacts,
  type SensorFinding,
  type SiteSensors,
} from './sensor-facts.js';

/*
 * Stuck sensors: one value to the last digit for longer than the quantity can stand still. A value that may last, such as
 * no light or saturated air, is doubted where something else says that it cannot: no light under a high sun, air that
 * stays at 100 % while it warms and cools. A gap ends a run: silence is no proof that the value stood still.
 */

/** With the sun this high some light comes through any cloud and cloth (common practice, no published source). */
const HIGH_SUN_DEG = 15;
const DARK_HOURS = 3;
/** Air that swings by so much cannot stay saturated to the last digit for so long (starting values). */
const SWING_C = 5;
const SATURATED_HOURS = 48;

interface Run {
  readonly value: number;
  readonly sinceMs: number;
  readonly hours: readonly RollUp[];
}

/** The value a channel has not left since, told from the roll-ups; undefined while it changes. */
export function standsStill(channel: ChannelFacts): Run | undefined {
  const { hours, days, quantity } = channel;
  const last = hours.at(-1);
  if (last === undefined || last.min !== last.max) return undefined;
  const gapMs = 2 * quantityInfo(quantity).holdMinutes * 60_000 + MS_PER_HOUR;
  let start = hours.length - 1;
  while (start > 0) {
    const [before, after] = [hours[start - 1] as RollUp, hours[start] as RollUp];
    if (before.min !== last.min || before.max !== last.max || after.startMs - before.startMs > gapMs) break;
    start -= 1;
  }
  let sinceMs = (hours[start] as RollUp).startMs;
  if (start > 0) return { value: last.min, sinceMs, hours: hours.slice(start) };
  // All the hours at hand are alike: days before them may be too.
  for (const day of [...days].reverse()) {
    if (day.startMs >= sinceMs) continue;
    if (day.min !== last.min || day.max !== last.max || sinceMs - day.startMs > 24 * MS_PER_HOUR + gapMs) break;
    sinceMs = day.startMs;
  }
  return { value: last.min, sinceMs, hours };
}

function whyStuck(
  site: SiteSensors,
  sensor: SensorFacts,
  channel: ChannelFacts,
  limits: AlertLimits,
): string | undefined {
  const run = standsStill(channel);
  if (run === undefined || channel.lastAt === null) return undefined;
  const { label, unit, restValues, stuckAfterMinutes } = quantityInfo(channel.quantity);
  const lastedMs = channel.lastAt - run.sinceMs;
  const stands = `Its ${label} has stood at exactly ${run.value} ${unit} for ${durationInWords(lastedMs)}`;
  if (restValues?.includes(run.value) === true) {
    const why = LIGHT.includes(channel.quantity)
      ? darkUnderSun(site, run)
      : channel.quantity === 'relHumidityPct'
        ? saturatedInChangingAir(site, sensor, run, limits)
        : undefined;
    return why === undefined ? undefined : `${stands}, ${why}.`;
  }
  if (stuckAfterMinutes === undefined || lastedMs < stuckAfterMinutes * 60_000 * limits.sensorStuckFactor)
    return undefined;
  return `${stands}; a working sensor changes within ${durationInWords(stuckAfterMinutes * 60_000)}.`;
}

function darkUnderSun({ latitude, longitude }: SiteSensors, { hours }: Run): string | undefined {
  const heights = hours
    .slice(-30)
    .map(({ startMs }) => sunPosition(startMs + MS_PER_HOUR / 2, latitude, longitude).altitudeDeg)
    .filter((height) => height >= HIGH_SUN_DEG);
  if (heights.length < DARK_HOURS) return undefined;
  return `though the sun stood ${Math.round(Math.max(...heights))}° high`;
}

function saturatedInChangingAir(
  { sensors }: SiteSensors,
  sensor: SensorFacts,
  run: Run,
  { sensorStuckFactor }: AlertLimits,
): string | undefined {
  const newest = run.hours.at(-1) as RollUp;
  if (newest.startMs + MS_PER_HOUR - run.sinceMs < SATURATED_HOURS * MS_PER_HOUR * sensorStuckFactor) return undefined;
  const air = [sensor, ...sensors.filter(({ houseId }) => houseId === sensor.houseId)]
    .flatMap(({ channels }) => channels)
    .find(({ quantity }) => quantity === 'airTempC');
  const hours = air?.hours.filter(({ startMs }) => startMs >= run.sinceMs) ?? [];
  const swing = Math.max(...hours.map(({ max }) => max)) - Math.min(...hours.map(({ min }) => min));
  if (!(swing >= SWING_C)) return undefined;
  return `while the air went up and down by ${Math.round(swing)} °C; such a sensor has been wet for too long`;
}

export const stuckSensors = (site: SiteSensors): SensorFinding[] =>
  doubtedSensors(site, {
    kind: 'sensor-stuck',
    why: (sensor, channel, limits) => whyStuck(site, sensor, channel, limits),
    word: 'stuck',
    whatToDo:
      'Look whether it is covered, wet or out of its pot; start it anew, dry it, or replace it. What it told since then is best not believed.',
    caution: MAINS_CAUTION,
  });
