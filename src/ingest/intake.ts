import type { Mapping } from '../domain/mapping.js';
import { flagsToMask, type Quantity } from '../domain/quantities.js';
import { matchTopic, type TemplatePart } from '../domain/topics.js';
import type { CheckedReading, Refusal, SeriesInfo } from '../storage/repositories.js';
import {
  type CheckLimits,
  type ClockPolicy,
  checkRange,
  checkSeries,
  DEFAULT_CLOCK,
  limitsOf,
  newSeriesState,
  resolveTime,
} from './check.js';
import {
  DEFAULT_LIMITS,
  type DecodeLimits,
  decodeJson,
  decodeJsonInJson,
  decodeText,
  excerptOf,
  payloadFault,
} from './decode.js';
import {
  type Extracted,
  fillTemplate,
  type Item,
  jsonReader,
  namedByTopic,
  type TopicFacts,
  templateParts,
  valueReader,
} from './map.js';
import { type KnowsHouse, type Place, type PlaceRules, placeOf, placeRules } from './place.js';
import { type Fault, fault, quoted } from './reasons.js';
import { SensorBook, type SensorNotice, type SensorState } from './sensors.js';
import { rebirthRequest, SparkplugSessions, sparkplugTopic } from './sparkplug.js';
import { senmlReader, sparkplugReader } from './structured.js';

/** A message as it came from the broker. */
export interface IncomingMessage {
  readonly topic: string;
  readonly payload: Buffer;
  readonly qos: 0 | 1 | 2;
  readonly retain: boolean;
  /** UTC milliseconds. */
  readonly receivedAt: number;
}

export interface IntakeOptions {
  readonly mappings: readonly Mapping[];
  readonly knowsHouse: KnowsHouse;
  readonly limits?: DecodeLimits;
  readonly clock?: ClockPolicy;
  readonly onNotice?: (notice: SensorNotice) => void;
  /** Messages the intake wants sent: it asks nodes to introduce themselves again. */
  readonly onReply?: (reply: { topic: string; payload: Buffer }) => void;
}

export interface Taken {
  readonly readings: CheckedReading[];
  readonly refusals: Refusal[];
}

type Reader = (message: IncomingMessage, topic: TopicFacts) => Extracted;

interface CompiledMapping {
  readonly mapping: Mapping;
  readonly levels: readonly string[];
  readonly read: Reader;
  readonly place: PlaceRules;
  /** Set where the topic alone tells the sensor. */
  readonly sensorParts: readonly TemplatePart[] | undefined;
  readonly limits: (quantity: Quantity) => CheckLimits;
  readonly clock: ClockPolicy;
}
/** What a topic leads to; the same topics come again and again. */
interface Route extends TopicFacts {
  readonly compiled: CompiledMapping;
  readonly place: Place | Fault | undefined;
  /** What is remembered of the sensor, where the topic alone names it. */
  readonly state: SensorState | undefined;
}

const FLAG = {
  clamped: flagsToMask(['clamped']),
  clockAhead: flagsToMask(['clock-ahead']),
  clockBehind: flagsToMask(['clock-behind']),
  receivedTime: flagsToMask(['received-time']),
};
const MAX_ROUTES = 20_000;
const REBIRTH_EVERY_MS = 60_000;

/**
 * Decode, map and check, message by message. It holds what has to be remembered between messages (the newest value of
 * each series, births of Sparkplug nodes) and does no I/O; it never throws, whatever comes.
 */
export class Intake {
  readonly #options: IntakeOptions;
  readonly #decodeLimits: DecodeLimits;
  readonly #sessions = new SparkplugSessions();
  readonly #sensors: SensorBook;
  readonly #rebirths = new Map<string, number>();
  #routes = new Map<string, Route | null>();
  #compiled: CompiledMapping[];
  #knowsHouse: KnowsHouse;

  constructor(options: IntakeOptions) {
    this.#options = options;
    this.#sensors = new SensorBook(options.onNotice ?? (() => {}));
    this.#decodeLimits = options.limits ?? DEFAULT_LIMITS;
    this.#knowsHouse = options.knowsHouse;
    this.#compiled = options.mappings.map((mapping) => this.#compile(mapping));
  }

  /** Takes a changed configuration; what is remembered of the sensors stays. */
  configure(mappings: readonly Mapping[], knowsHouse: KnowsHouse): void {
    this.#compiled = mappings.map((mapping) => this.#compile(mapping));
    this.#knowsHouse = knowsHouse;
    this.#routes = new Map();
  }

  /** Continues where the stored series left off, so that a restart does not forget what came last. */
  resume(series: readonly Pick<SeriesInfo, 'siteId' | 'sensorId' | 'quantity' | 'lastAt' | 'lastValue'>[]): void {
    for (const one of series)
      if (one.lastAt !== null && one.lastValue !== null)
        this.#sensors.of(one.siteId, one.sensorId).series.set(one.quantity, newSeriesState(one.lastAt, one.lastValue));
  }

  /** Adds the readings and refusals of one message to `into`. */
  take(message: IncomingMessage, into: Taken): void {
    const route = this.#route(message.topic);
    if (!route) {
      this.#refuse(
        message,
        into,
        null,
        null,
        fault('no-mapping', `No mapping takes messages of the topic ${quoted(message.topic)}.`),
      );
      return;
    }
    const siteId = route.compiled.mapping.site;
    const wrong = payloadFault(message.payload, this.#decodeLimits);
    const extracted: Extracted = wrong ? { items: [], faults: [wrong] } : route.compiled.read(message, route);
    for (const one of extracted.faults) this.#refuse(message, into, siteId, null, one);
    // A stored message without a time of its own may be months old: it is refused once, whatever it holds.
    let refusedRetained = false;
    for (const item of extracted.items) {
      const time = resolveTime(item.device, message.receivedAt, route.compiled.clock);
      if (message.retain && time.source === 'received') {
        if (refusedRetained) continue;
        refusedRetained = true;
        const sensorId = item.sensor.ok ? item.sensor.value : null;
        this.#refuse(
          message,
          into,
          siteId,
          sensorId,
          fault('retained-no-time', 'The broker had kept this message, and it does not say when it was measured.'),
        );
        continue;
      }
      this.#takeItem(message, route, item, time, into);
    }
  }

  #takeItem(
    message: IncomingMessage,
    route: Route,
    item: Item,
    time: ReturnType<typeof resolveTime>,
    into: Taken,
  ): void {
    const { compiled } = route;
    const siteId = compiled.mapping.site;
    if (!item.sensor.ok) {
      this.#refuse(message, into, siteId, null, item.sensor.fault);
      return;
    }
    const sensorId = item.sensor.value;
    for (const one of item.faults) this.#refuse(message, into, siteId, sensorId, one);
    if (item.candidates.length === 0) return;
    const place = route.place ?? this.#place(compiled, route.wildcards, message.payload);
    if ('reason' in place) {
      this.#refuse(message, into, siteId, sensorId, place);
      return;
    }
    const sensor = route.state ?? this.#sensors.of(siteId, sensorId);
    this.#sensors.watchClock(sensor, time.clock, item.device?.at, message.receivedAt);
    for (const candidate of item.candidates) {
      const limits = compiled.limits(candidate.quantity);
      const ranged = checkRange(candidate.value, limits, candidate.where);
      if (!ranged.ok) {
        this.#refuse(message, into, siteId, sensorId, ranged.fault, candidate.quantity);
        continue;
      }
      this.#sensors.watchUnit(sensor, candidate.quantity, ranged.value, message.receivedAt);
      const checked = checkSeries(
        sensor.series.get(candidate.quantity),
        { at: time.at, value: ranged.value, source: time.source },
        message.receivedAt,
        limits,
      );
      sensor.series.set(candidate.quantity, checked.next);
      let flagMask = checked.flags.length > 0 ? flagsToMask(checked.flags) : 0;
      if (ranged.clamped) flagMask |= FLAG.clamped;
      if (time.clock === 'ahead') flagMask |= FLAG.clockAhead;
      if (time.clock === 'behind') flagMask |= FLAG.clockBehind;
      if (time.source === 'received') flagMask |= FLAG.receivedTime;
      into.readings.push({
        siteId,
        sensorId,
        quantity: candidate.quantity,
        houseId: place.houseId,
        benchId: place.benchId,
        placement: compiled.mapping.placement,
        at: checked.at,
        value: ranged.value,
        flagMask,
        timeSource: time.source,
        receivedAt: message.receivedAt,
      });
    }
  }

  #refuse(
    message: IncomingMessage,
    into: Taken,
    siteId: string | null,
    sensorId: string | null,
    what: Fault,
    quantity: Quantity | null = null,
  ): void {
    into.refusals.push({
      at: message.receivedAt,
      topic: message.topic,
      siteId,
      sensorId,
      quantity,
      reason: what.reason,
      sentence: what.where ? `${what.sentence} (at ${what.where})` : what.sentence,
      excerpt: excerptOf(message.payload),
    });
  }

  #route(topic: string): Route | null {
    const known = this.#routes.get(topic);
    if (known !== undefined) return known;
    // Topics are made by whoever may publish, so their number has no natural bound.
    if (this.#routes.size >= MAX_ROUTES) this.#routes.clear();
    const levels = topic.split('/');
    let route: Route | null = null;
    for (const compiled of this.#compiled) {
      const wildcards = matchTopic(compiled.levels, levels);
      if (!wildcards) continue;
      const fixed = !compiled.place.readsMessage;
      const sensor = compiled.sensorParts && fillTemplate(compiled.sensorParts, { wildcards });
      route = {
        compiled,
        wildcards,
        sensor,
        state: sensor?.ok ? this.#sensors.of(compiled.mapping.site, sensor.value) : undefined,
        place: fixed ? this.#place(compiled, wildcards, undefined) : undefined,
      };
      break;
    }
    this.#routes.set(topic, route);
    return route;
  }

  #place(compiled: CompiledMapping, wildcards: readonly string[], payload: Buffer | undefined): Place | Fault {
    const { mapping } = compiled;
    let root: unknown;
    if (payload) {
      const decode = mapping.format === 'json-in-json' ? decodeJsonInJson : decodeJson;
      const decoded = decode(payload, this.#decodeLimits);
      root = decoded.ok ? decoded.value : undefined;
    }
    return placeOf(compiled.place, mapping.site, { wildcards, root }, this.#knowsHouse);
  }

  #compile(mapping: Mapping): CompiledMapping {
    const sensorParts = mapping.sensor === undefined ? undefined : templateParts(mapping.sensor);
    return {
      mapping,
      levels: mapping.topic.split('/'),
      read: this.#reader(mapping),
      place: placeRules(mapping),
      sensorParts: sensorParts && namedByTopic(sensorParts) ? sensorParts : undefined,
      limits: limitsOf(mapping.checks),
      clock: clockPolicy(mapping, this.#options.clock ?? DEFAULT_CLOCK),
    };
  }

  #reader(mapping: Mapping): Reader {
    const limits = this.#decodeLimits;
    switch (mapping.format) {
      case 'json':
      case 'json-in-json': {
        const read = jsonReader(mapping);
        const decode = mapping.format === 'json' ? decodeJson : decodeJsonInJson;
        return (message, topic) => {
          const decoded = decode(message.payload, limits);
          return decoded.ok ? read(decoded.value, topic) : { items: [], faults: [decoded.fault] };
        };
      }
      case 'value': {
        const read = valueReader(mapping);
        return (message, topic) => {
          const decoded = decodeText(message.payload);
          return decoded.ok ? read(decoded.value, topic) : { items: [], faults: [decoded.fault] };
        };
      }
      case 'senml': {
        const read = senmlReader(mapping, limits);
        return (message, { wildcards }) => read(message.payload, wildcards, message.receivedAt);
      }
      case 'sparkplug-b': {
        const read = sparkplugReader(mapping, this.#sessions);
        return (message, { wildcards }) => {
          const topic = sparkplugTopic(message.topic);
          // Commands and host states travel under the same pattern and carry no readings.
          if (!topic) return { items: [], faults: [] };
          const extracted = read(topic, message.payload, wildcards);
          if (extracted.askRebirth) this.#askRebirth(topic, message.receivedAt);
          return extracted;
        };
      }
    }
  }

  #askRebirth(topic: NonNullable<ReturnType<typeof sparkplugTopic>>, at: number): void {
    const key = `${topic.group}/${topic.node}`;
    const last = this.#rebirths.get(key);
    if (last !== undefined && at - last < REBIRTH_EVERY_MS) return;
    if (this.#rebirths.size >= 5000) this.#rebirths.clear();
    this.#rebirths.set(key, at);
    this.#options.onReply?.(rebirthRequest(topic, at));
  }
}

function clockPolicy(mapping: Mapping, general: ClockPolicy): ClockPolicy {
  return {
    earliestMs: mapping.clock?.earliest === undefined ? general.earliestMs : Date.parse(mapping.clock.earliest),
    aheadMs: mapping.clock?.aheadSeconds === undefined ? general.aheadMs : mapping.clock.aheadSeconds * 1000,
  };
}
