import { z } from 'zod';
import { type Mapping, type MappingInput, mappingSchema } from '../../domain/mapping.js';
import { maskToFlags, QUANTITIES, type Quantity, type ReadingFlag } from '../../domain/quantities.js';
import { type ClockPolicy, DEFAULT_CLOCK } from '../../ingest/check.js';
import { DEFAULT_LIMITS } from '../../ingest/decode.js';
import { type IncomingMessage, Intake, type Taken } from '../../ingest/intake.js';
import { resolveSenml } from '../../ingest/senml.js';

/** Files of sample messages in the neutral notation shared with outside checks, translated into our own mappings. */
const METRICS: Record<string, Quantity> = {
  air_temperature: 'airTempC',
  substrate_temperature: 'substrateTempC',
  relative_humidity: 'relHumidityPct',
  substrate_vwc: 'substrateMoisturePct',
  illuminance: 'illuminanceLux',
  irradiance: 'radiationWm2',
  ppfd: 'ppfdUmol',
  co2: 'co2Ppm',
  ec: 'substrateEcMsCm',
  ph: 'ph',
  battery: 'batteryPct',
  pressure: 'pressureHpa',
  wind_speed: 'windMs',
};
const METRIC_OF = new Map(Object.entries(METRICS).map(([metric, quantity]) => [quantity, metric]));
/** Reasons that have another word in the sample files; the others only change _ for -. */
const KIND_OF: Record<string, string> = { 'no-reading-code': 'sentinel' };
const FLAG_OF: Partial<Record<ReadingFlag, string>> = {
  clamped: 'clamped',
  'clock-ahead': 'clock_future',
  'clock-behind': 'clock_past',
};

const fieldForm = z.looseObject({
  ptr: z.string(),
  metric: z.union([z.string(), z.object({ from: z.string(), map: z.record(z.string(), z.string()) })]),
  unit: z.union([z.string(), z.object({ from: z.string() })]),
  scale: z.number().optional(),
  offset: z.number().optional(),
  sentinels: z.array(z.number()).optional(),
  optional: z.boolean().optional(),
});
const mappingForm = z.looseObject({
  topic: z.string(),
  format: z.string(),
  sensor: z.string(),
  items: z.string().optional(),
  max_items: z.number().optional(),
  fields: z.array(fieldForm).optional(),
  require_any: z.boolean().optional(),
  time: z
    .looseObject({ ptr: z.string(), kind: z.string(), tz: z.string().optional(), optional: z.boolean().optional() })
    .optional(),
  strip_suffix: z.string().optional(),
  decimal_comma: z.boolean().optional(),
  metric: z.string().optional(),
  unit: z.string().optional(),
  scale: z.number().optional(),
  offset: z.number().optional(),
  sentinels: z.array(z.number()).optional(),
  by_unit: z.record(z.string(), z.string()).optional(),
  by_name: z.record(z.string(), z.tuple([z.string(), z.string()])).optional(),
});
const readingForm = z.looseObject({
  sensor: z.string(),
  metric: z.string(),
  value: z.number(),
  ts: z.number(),
  ts_source: z.string(),
  flags: z.array(z.string()).optional(),
});
const sampleForm = z.looseObject({
  id: z.string(),
  topic: z.string(),
  payload: z.string().optional(),
  payload_b64: z.string().optional(),
  payload_gen: z
    .object({
      prefix: z.string().default(''),
      item: z.string(),
      count: z.number(),
      sep: z.string().default(''),
      suffix: z.string().default(''),
    })
    .optional(),
  qos: z.number().default(1),
  retain: z.boolean().default(false),
  received_at: z.number(),
  after: z.array(z.string()).optional(),
  policy_override: z.record(z.string(), z.unknown()).optional(),
  resolved: z.array(z.record(z.string(), z.unknown())).optional(),
  expected: z.object({
    readings: z.array(readingForm),
    errors: z.array(z.looseObject({ kind: z.string() })),
    new_rows: z.number().optional(),
  }),
});
export const sampleFileForm = z.looseObject({
  policy: z.looseObject({
    ranges: z.record(z.string(), z.tuple([z.number(), z.number()])).default({}),
    max_payload_bytes: z.number().default(DEFAULT_LIMITS.maxPayloadBytes),
    max_json_depth: z.number().default(DEFAULT_LIMITS.maxJsonDepth),
  }),
  mappings: z.record(z.string(), mappingForm),
  samples: z.array(sampleForm),
});
export type SampleFile = z.infer<typeof sampleFileForm>;
export type Sample = z.infer<typeof sampleForm>;
type NeutralMapping = z.infer<typeof mappingForm>;

const quantityOf = (metric: string): Quantity => {
  const quantity = METRICS[metric];
  if (!quantity) throw new Error(`The file names a metric that is not known here: ${metric}`);
  return quantity;
};
const defined = <T extends object>(value: T): T =>
  Object.fromEntries(Object.entries(value).filter(([, entry]) => entry !== undefined)) as T;
const valueShape = (from: { scale?: unknown; offset?: unknown; sentinels?: unknown }) =>
  defined({ scale: from.scale, offset: from.offset, noReading: from.sentinels });

/** The ranges of the file, and its rule that only humidity and light are ever moved to a bound. */
function checksOf(ranges: SampleFile['policy']['ranges']): Record<string, object> {
  const checks: Record<string, object> = {};
  for (const [metric, [min, max]] of Object.entries(ranges)) {
    const quantity = METRICS[metric];
    if (!quantity) continue;
    const offsets =
      quantity === 'batteryPct' ? undefined : (QUANTITIES[quantity] as { clampWithin?: readonly number[] }).clampWithin;
    checks[quantity] = defined({ min, max, clampMin: offsets?.[0], clampMax: offsets?.[1] });
  }
  return checks;
}

export function neutralMapping(id: string, from: NeutralMapping, ranges: SampleFile['policy']['ranges']): Mapping {
  const common = {
    id: id.replaceAll('_', '-'),
    topic: from.topic,
    site: 'samples',
    placement: 'outside' as const,
    checks: checksOf(ranges),
  };
  const sensor = from.sensor.replaceAll('{ptr:', '{pointer:');
  const text = { stripSuffix: from.strip_suffix, decimalComma: from.decimal_comma };
  let mapping: object;
  switch (from.format) {
    case 'senml+json':
      mapping = {
        ...common,
        format: 'senml',
        sensor,
        byUnit: Object.fromEntries(
          Object.entries(from.by_unit ?? {}).map(([unit, metric]) => [unit, quantityOf(metric)]),
        ),
      };
      break;
    case 'sparkplug-b':
      mapping = {
        ...common,
        format: 'sparkplug-b',
        byName: Object.fromEntries(
          Object.entries(from.by_name ?? {}).map(([name, [metric, unit]]) => [
            name,
            { quantity: quantityOf(metric), unit },
          ]),
        ),
      };
      break;
    case 'value':
      mapping = {
        ...common,
        format: 'value',
        sensor,
        quantity: quantityOf(from.metric ?? ''),
        unit: from.unit,
        ...valueShape(from),
        ...text,
      };
      break;
    default:
      mapping = {
        ...common,
        format: from.format,
        sensor,
        ...text,
        items: from.items,
        maxItems: from.max_items,
        requireAny: from.require_any,
        time:
          from.time &&
          defined({ pointer: from.time.ptr, kind: from.time.kind, zone: from.time.tz, optional: from.time.optional }),
        fields: (from.fields ?? []).map((field) =>
          defined({
            pointer: field.ptr,
            quantity:
              typeof field.metric === 'string'
                ? quantityOf(field.metric)
                : {
                    from: field.metric.from,
                    map: Object.fromEntries(
                      Object.entries(field.metric.map).map(([word, metric]) => [word, quantityOf(metric)]),
                    ),
                  },
            unit: field.unit,
            optional: field.optional,
            ...valueShape(field),
          }),
        ),
      };
  }
  return mappingSchema.parse(defined(mapping as MappingInput));
}

export function samplePayload(sample: Sample): Buffer {
  if (sample.payload_b64 !== undefined) return Buffer.from(sample.payload_b64, 'base64');
  if (sample.payload_gen) {
    const { prefix, item, count, sep, suffix } = sample.payload_gen;
    return Buffer.from(prefix + Array(count).fill(item).join(sep) + suffix);
  }
  return Buffer.from(sample.payload ?? '');
}

const messageOf = (sample: Sample): IncomingMessage => ({
  topic: sample.topic,
  payload: samplePayload(sample),
  qos: sample.qos === 0 ? 0 : sample.qos === 2 ? 2 : 1,
  retain: sample.retain,
  receivedAt: sample.received_at,
});

const rowKey = (reading: Taken['readings'][number]): string =>
  `${reading.sensorId}\n${reading.quantity}\n${reading.at}`;

/** `sensor metric` → one line per reading, so that two sets can be compared and told apart. */
function linesOf(readings: Taken['readings']): string[] {
  const lines = readings.map((reading) => {
    const flags = maskToFlags(reading.flagMask).flatMap((flag) => FLAG_OF[flag] ?? []);
    return line(
      reading.sensorId,
      METRIC_OF.get(reading.quantity) ?? reading.quantity,
      reading.value,
      reading.at,
      reading.timeSource,
      flags,
    );
  });
  // Two equal readings in one message are one row.
  return [...new Set(lines)].sort();
}
const line = (
  sensor: string,
  metric: string,
  value: number,
  at: number,
  source: string,
  flags: readonly string[],
): string =>
  // Values are compared to 1e-6 as the file asks: rounding is finer than that, so that neighbours meet.
  `${sensor} ${metric} = ${Number(value.toFixed(6))} at ${at} (${source})${flags.length ? ` [${[...flags].sort().join(', ')}]` : ''}`;

const difference = (expected: readonly string[], got: readonly string[], what: string): string[] => {
  const left = [...got];
  const missing = expected.filter((entry) => {
    const index = left.indexOf(entry);
    if (index >= 0) left.splice(index, 1);
    return index < 0;
  });
  return [
    ...missing.map((entry) => `missing ${what}: ${entry}`),
    ...left.map((entry) => `unexpected ${what}: ${entry}`),
  ];
};

function resolvedFaults(sample: Sample): string[] {
  if (!sample.resolved) return [];
  const records = resolveSenml(JSON.parse(samplePayload(sample).toString('utf8')), sample.received_at).records;
  const text = (record: Record<string, unknown>): string =>
    JSON.stringify(
      Object.entries(record)
        .filter(([, value]) => value !== undefined)
        .sort(([a], [b]) => (a < b ? -1 : 1)),
    );
  const rounded = (seconds: unknown): number => Number(Number(seconds).toFixed(3));
  return difference(
    sample.resolved.map((record) => text({ ...record, t: rounded(record.t) })).sort(),
    records
      .map((record) =>
        text({
          n: record.name,
          u: record.unit,
          t: rounded(record.time),
          v: record.value,
          vs: record.text,
          vb: record.flag,
          vd: record.data,
          s: record.sum,
          bver: record.version,
        }),
      )
      .sort(),
    'resolved record',
  );
}

/** What is wrong with how a sample is read; empty when it is read as expected. */
export function sampleFaults(file: SampleFile, sample: Sample, byId: ReadonlyMap<string, Sample>): string[] {
  const clock: ClockPolicy =
    sample.policy_override?.clock_past === 'off' ? { ...DEFAULT_CLOCK, earliestMs: null } : DEFAULT_CLOCK;
  const intake = new Intake({
    mappings: Object.entries(file.mappings).map(([id, mapping]) => neutralMapping(id, mapping, file.policy.ranges)),
    knowsHouse: () => true,
    limits: { maxPayloadBytes: file.policy.max_payload_bytes, maxJsonDepth: file.policy.max_json_depth },
    clock,
  });
  const rows = new Set<string>();
  for (const id of sample.after ?? []) {
    const earlier = byId.get(id);
    if (!earlier) return [`the sample it comes after is not in the file: ${id}`];
    const taken: Taken = { readings: [], refusals: [] };
    intake.take(messageOf(earlier), taken);
    for (const reading of taken.readings) rows.add(rowKey(reading));
  }
  const taken: Taken = { readings: [], refusals: [] };
  intake.take(messageOf(sample), taken);
  const before = rows.size;
  for (const reading of taken.readings) rows.add(rowKey(reading));

  const faults = difference(
    sample.expected.readings
      .map((one) => line(one.sensor, one.metric, one.value, one.ts, one.ts_source, one.flags ?? []))
      .sort(),
    linesOf(taken.readings),
    'reading',
  );
  faults.push(
    ...difference(
      sample.expected.errors.map((error) => error.kind).sort(),
      taken.refusals.map((refusal) => KIND_OF[refusal.reason] ?? refusal.reason.replaceAll('-', '_')).sort(),
      'error',
    ),
  );
  if (sample.expected.new_rows !== undefined && rows.size - before !== sample.expected.new_rows)
    faults.push(`expected ${sample.expected.new_rows} new rows, got ${rows.size - before}`);
  faults.push(...resolvedFaults(sample));
  return faults;
}
