import type { Quantity } from '../domain/quantities.js';
import { durationInWords } from '../domain/time.js';
import type { ResolvedTime, SeriesState } from './check.js';

/** Something about a sensor that a grower should see to, told once until it changes. */
export interface SensorNotice {
  readonly at: number;
  readonly siteId: string;
  readonly sensorId: string;
  readonly kind: 'clock-ahead' | 'clock-behind' | 'clock-right-again' | 'unit-in-doubt';
  readonly sentence: string;
}

export interface SensorState {
  readonly siteId: string;
  readonly sensorId: string;
  clock: 'right' | 'ahead' | 'behind';
  readonly series: Map<Quantity, SeriesState>;
  /** Values in a row of a percentage that look like a share between 0 and 1. */
  shareRun: number;
}

const MAX_SENSORS = 50_000;
/** So many values in a row make a doubt worth telling. Common practice, no published source. */
const SHARE_RUN = 20;
const SHARE_QUANTITIES: readonly Quantity[] = ['relHumidityPct', 'substrateMoisturePct'];

/** What is remembered of every sensor between its messages. */
export class SensorBook {
  readonly #sensors = new Map<string, SensorState>();
  readonly #onNotice: (notice: SensorNotice) => void;

  constructor(onNotice: (notice: SensorNotice) => void) {
    this.#onNotice = onNotice;
  }

  of(siteId: string, sensorId: string): SensorState {
    const key = `${siteId}\n${sensorId}`;
    let state = this.#sensors.get(key);
    if (!state) {
      // Names come with the messages, so their number has no natural bound; the oldest goes first.
      if (this.#sensors.size >= MAX_SENSORS) this.#sensors.delete(this.#sensors.keys().next().value as string);
      state = { siteId, sensorId, clock: 'right', series: new Map(), shareRun: 0 };
      this.#sensors.set(key, state);
    }
    return state;
  }

  /** @param told the time the device sent, when it sent one */
  watchClock(sensor: SensorState, clock: ResolvedTime['clock'], told: number | undefined, receivedAt: number): void {
    if (clock === 'none' || clock === sensor.clock) return;
    sensor.clock = clock;
    this.#onNotice({
      at: receivedAt,
      siteId: sensor.siteId,
      sensorId: sensor.sensorId,
      kind: clock === 'right' ? 'clock-right-again' : `clock-${clock}`,
      sentence: clockSentence(sensor.sensorId, clock, told ?? receivedAt, receivedAt),
    });
  }

  watchUnit(sensor: SensorState, quantity: Quantity, value: number, receivedAt: number): void {
    if (!SHARE_QUANTITIES.includes(quantity)) return;
    sensor.shareRun = value > 0 && value <= 1 ? sensor.shareRun + 1 : 0;
    if (sensor.shareRun !== SHARE_RUN) return;
    this.#onNotice({
      at: receivedAt,
      siteId: sensor.siteId,
      sensorId: sensor.sensorId,
      kind: 'unit-in-doubt',
      sentence: `Sensor ${sensor.sensorId} has sent ${SHARE_RUN} values in a row between 0 and 1 %. Does it send fractions? Then its mapping needs unit: fraction.`,
    });
  }
}

const DAY_MS = 86_400_000;

function clockSentence(
  sensorId: string,
  clock: 'right' | 'ahead' | 'behind',
  told: number,
  receivedAt: number,
): string {
  if (clock === 'right') return `The clock of sensor ${sensorId} is right again.`;
  // Seconds taken for milliseconds land in 1970; milliseconds taken for seconds land far in the future.
  const near = (at: number): boolean => Math.abs(at - receivedAt) < DAY_MS;
  if (near(told * 1000) || near(told / 1000))
    return `Sensor ${sensorId} sends its time in ${clock === 'ahead' ? 'milliseconds' : 'seconds'}, but its mapping says otherwise. The time of arrival is used.`;
  return `The clock of sensor ${sensorId} is ${durationInWords(Math.abs(told - receivedAt))} ${clock}. The time of arrival is used.`;
}
