import type { MappingOf } from '../domain/mapping.js';
import type { Quantity } from '../domain/quantities.js';
import { unitConversion } from '../domain/units.js';
import type { DecodeLimits } from './decode.js';
import { decodeJson } from './decode.js';
import {
  type Candidate,
  canonicalValue,
  type Extracted,
  fillTemplate,
  type Item,
  type NamedReader,
  namedReaders,
  PLAIN_VALUE,
  templateParts,
  unknownUnit,
} from './map.js';
import { type Fault, fault, quoted } from './reasons.js';
import { isRegisteredUnit, resolveSenml, type SenmlRecord } from './senml.js';
import {
  decodeSparkplug,
  integerValue,
  type NamedMetric,
  type SparkplugSessions,
  type SparkplugTopic,
} from './sparkplug.js';

/** Readers of the two formats that name their own values: SenML and Sparkplug B. */
const refused = (what: Fault): Extracted => ({ items: [], faults: [what] });

/** The last word of a name, after / or : */
const lastWord = (name: string): string => name.slice(Math.max(name.lastIndexOf('/'), name.lastIndexOf(':')) + 1);

export function senmlReader(
  mapping: MappingOf<'senml'>,
  limits: DecodeLimits,
): (payload: Buffer, wildcards: readonly string[], receivedAt: number) => Extracted {
  const sensorParts = templateParts(mapping.sensor);
  const byName = namedReaders(mapping.byName);
  const byUnit = new Map(Object.entries(mapping.byUnit));

  const candidateOf = (record: SenmlRecord): Candidate | Fault | undefined => {
    const named = byName.get(lastWord(record.name));
    if (named) {
      const value = canonicalValue(record.value, named.form, named.conversion, record.name);
      return value.ok ? { quantity: named.quantity, value: value.value, where: record.name } : value.fault;
    }
    if (record.unit === undefined)
      return fault('unknown-unit', `The value of ${quoted(record.name)} comes without a unit.`, record.name);
    const quantity: Quantity | undefined = byUnit.get(record.unit);
    if (quantity === undefined)
      // A registered unit of something that is not asked for here, such as volts, is no fault.
      return isRegisteredUnit(record.unit)
        ? undefined
        : fault('unknown-unit', `${quoted(record.unit)} is not a unit of the SenML registry.`, record.name);
    const conversion = unitConversion(quantity, record.unit);
    if (!conversion) return unknownUnit(quantity, record.unit, record.name);
    const value = canonicalValue(record.value, PLAIN_VALUE, conversion, record.name);
    return value.ok ? { quantity, value: value.value, where: record.name } : value.fault;
  };

  return (payload, wildcards, receivedAt) => {
    const json = decodeJson(payload, limits);
    if (!json.ok) return refused(json.fault);
    if (!Array.isArray(json.value))
      return refused(fault('unexpected-type', `Expected a list of SenML records, got ${quoted(json.value)}.`));
    if (json.value.length > mapping.maxItems)
      return refused(
        fault(
          'batch-too-large',
          `The message holds ${json.value.length} records; at most ${mapping.maxItems} are read.`,
        ),
      );
    const pack = resolveSenml(json.value, receivedAt);
    const items: Item[] = [];
    for (const record of pack.records) {
      if (record.value === undefined) continue;
      const candidate = candidateOf(record);
      if (candidate === undefined) continue;
      items.push({
        sensor: fillTemplate(sensorParts, { wildcards, words: { name: record.name } }),
        device: { at: Math.round(record.time * 1000), relative: record.relative },
        candidates: 'reason' in candidate ? [] : [candidate],
        faults: 'reason' in candidate ? [candidate] : [],
      });
    }
    return { items, faults: pack.faults };
  };
}

const GOOD_QUALITY = 192;

function sparkplugCandidate(metric: NamedMetric, reader: NamedReader): Candidate | Fault {
  if (metric.quality !== undefined && metric.quality !== GOOD_QUALITY)
    return fault(
      'bad-quality',
      `The device marks ${quoted(metric.name)} as not good (quality ${metric.quality}).`,
      metric.name,
    );
  const raw = typeof metric.value === 'bigint' ? integerValue(metric.value, metric.datatype) : metric.value;
  const value = canonicalValue(raw, reader.form, reader.conversion, metric.name);
  return value.ok ? { quantity: reader.quantity, value: value.value, where: metric.name } : value.fault;
}

export interface SparkplugExtracted extends Extracted {
  /** True when the node should be asked to tell everything again. */
  readonly askRebirth: boolean;
}

export function sparkplugReader(
  mapping: MappingOf<'sparkplug-b'>,
  sessions: SparkplugSessions,
): (topic: SparkplugTopic, payload: Buffer, wildcards: readonly string[]) => SparkplugExtracted {
  const sensorParts = mapping.sensor === undefined ? undefined : templateParts(mapping.sensor);
  const byName = namedReaders(mapping.byName);

  return (topic, payload, wildcards) => {
    const decoded = decodeSparkplug(payload);
    if (!decoded)
      return { ...refused(fault('sparkplug-decode', 'The message is not a Sparkplug B payload.')), askRebirth: false };
    const session = sessions.take(topic, decoded);
    const faults: Fault[] = session.unknownAliases.map((alias) =>
      fault(
        'unknown-alias',
        `The node sent a value under alias ${alias}, which no birth message has named yet.`,
        alias,
      ),
    );
    if (session.gap)
      faults.push(fault('seq-gap', 'Messages of this node are missing before this one; what came is kept.'));
    const items: Item[] = [];
    for (const metric of session.metrics) {
      const reader = byName.get(lastWord(metric.name));
      if (!reader || metric.isNull) continue;
      const candidate = sparkplugCandidate(metric, reader);
      const folder = metric.name.slice(0, Math.max(0, metric.name.lastIndexOf('/')));
      const path = [topic.group, topic.node, topic.device, folder].filter((part) => part !== '');
      const told = metric.timestampMs ?? decoded.timestampMs;
      items.push({
        sensor: sensorParts
          ? fillTemplate(sensorParts, {
              wildcards,
              words: { group: topic.group, node: topic.node, device: topic.device, folder },
            })
          : { ok: true, value: path.join('/') },
        device: told === undefined ? undefined : { at: told, relative: false },
        candidates: 'reason' in candidate ? [] : [candidate],
        faults: 'reason' in candidate ? [candidate] : [],
      });
    }
    return { items, faults, askRebirth: session.gap || session.unknownAliases.length > 0 };
  };
}
