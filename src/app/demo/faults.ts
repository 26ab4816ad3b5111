import { even, mixed } from './random.js';
import { DAY_MS } from './weather.js';

/** Trouble with the invented sensors, so that the demo shows what the service does about it. */

/** A message on its way: what it holds, the device's own time stamp, and when it arrives. */
export interface Sending {
  readonly values: Readonly<Record<string, number>>;
  /** As the device writes it; left out: the device has no clock. */
  readonly stamp: number;
  readonly receivedAt: number;
  /** Sent instead of the JSON of the values. */
  readonly garbled?: string;
}

const HOUR_MS = 3_600_000;

interface Planned {
  readonly sensor: string;
  /** Days after the first day of the history. */
  readonly fromDay: number;
  readonly hours: number;
  readonly change: (sending: Sending, startMs: number, endMs: number) => Sending | undefined;
}

const silent = (): undefined => undefined;
/** The last values before it stuck are sent on and on. */
const stuckAt =
  (values: Readonly<Record<string, number>>) =>
  (sending: Sending): Sending => ({ ...sending, values: { ...sending.values, ...values } });
const unsetClock = (sending: Sending, startMs: number): Sending => ({
  ...sending,
  stamp: sending.stamp - startMs,
});
const secondsClock = (sending: Sending): Sending => ({ ...sending, stamp: Math.round(sending.stamp / 1000) });
/** The gateway was away and sends all it kept when it is back. */
const keptBack = (sending: Sending, _startMs: number, endMs: number): Sending => ({ ...sending, receivedAt: endMs });

const PLANNED: readonly Planned[] = [
  { sensor: 'long-house-mid', fromDay: 40, hours: 9, change: silent },
  { sensor: 'winter-house-roof', fromDay: 22, hours: 30, change: silent },
  { sensor: 'nursery-mid', fromDay: 61, hours: 17, change: stuckAt({ t: 14.3, rh: 61 }) },
  { sensor: 'lean-to-wall', fromDay: 33, hours: 48, change: secondsClock },
  { sensor: 'front-house-roof', fromDay: 75, hours: 4, change: unsetClock },
  { sensor: 'stone-house-mid', fromDay: 52, hours: 6, change: keptBack },
  { sensor: 'stone-house-door', fromDay: 88, hours: 3, change: stuckAt({ t: -127 }) },
];

const LOST_SHARE = 0.004;
const SPIKE_SHARE = 0.0006;
const GARBLED_SHARE = 0.0001;

/**
 * What becomes of a message; undefined: it never arrives.
 * @param startMs beginning of the history, the moment planned trouble is counted from
 */
export function afterFaults(sensor: string, sending: Sending, seed: number, startMs: number): Sending | undefined {
  for (const plan of PLANNED) {
    if (plan.sensor !== sensor) continue;
    const from = startMs + plan.fromDay * DAY_MS + 13 * HOUR_MS;
    const until = from + plan.hours * HOUR_MS;
    if (sending.stamp >= from && sending.stamp < until) return plan.change(sending, from, until);
  }
  const roll = even(mixed(seed, sensor), 'faults')(Math.floor(sending.stamp / 60_000));
  if (roll < LOST_SHARE) return undefined;
  if (roll < LOST_SHARE + SPIKE_SHARE && sending.values.t !== undefined)
    return { ...sending, values: { ...sending.values, t: 85 } };
  if (roll < LOST_SHARE + SPIKE_SHARE + GARBLED_SHARE) return { ...sending, garbled: '{"t":2' };
  return sending;
}
