import { z } from 'zod';
import { QUANTITY_NAMES, type Quantity } from './quantities.js';
import { idSchema } from './site.js';
import { isLocalDay, isTimeZone } from './time.js';
import {
  commonTopic,
  coversTopic,
  parsePointer,
  parseTemplate,
  type TemplatePart,
  topicPatternFault,
  wildcardCount,
} from './topics.js';
import { acceptedUnits, unitConversion, unitName } from './units.js';

/**
 * One mapping: which messages it takes (a topic pattern), where the sensor stands, and where in the message each
 * quantity, its unit and its time are found. A message goes to the first mapping whose topic matches.
 */
const pointerSchema = z
  .string()
  .refine(
    (text) => parsePointer(text) !== undefined,
    'a JSON pointer such as /air/temperature, or empty for the whole',
  );
const templateSchema = z
  .string()
  .min(1)
  .max(256)
  .superRefine((text, context) => {
    const parts = parseTemplate(text);
    if (typeof parts === 'string') context.addIssue({ code: 'custom', message: parts });
  });
const quantitySchema = z.enum(QUANTITY_NAMES);
const unitSchema = z
  .string()
  .min(1)
  .refine((text) => unitName(text) !== undefined, 'a known unit such as °C, %, W/m², lx, µmol/m²/s or hPa');

/** Names in topics may be turned into the ids of houses and benches. */
const placeSchema = z.union([
  templateSchema,
  z.strictObject({ from: templateSchema, map: z.record(z.string().min(1), idSchema) }),
]);

const valueShape = {
  scale: z
    .number()
    .refine((value) => value !== 0, 'a scale other than 0')
    .optional(),
  /** Added after the scale, before the unit is converted. */
  offset: z.number().optional(),
  /** Codes by which the device says that it has no reading, as they stand in the message. */
  noReading: z.array(z.number()).max(20).optional(),
};
const fieldSchema = z.strictObject({
  pointer: pointerSchema,
  quantity: z.union([
    quantitySchema,
    z.strictObject({ from: pointerSchema, map: z.record(z.string().min(1), quantitySchema) }),
  ]),
  unit: z.union([unitSchema, z.strictObject({ from: pointerSchema })]),
  ...valueShape,
  optional: z.boolean().default(false),
});
export type MappingField = z.infer<typeof fieldSchema>;

const timeSchema = z.strictObject({
  pointer: pointerSchema,
  /** auto: seconds, milliseconds, microseconds or nanoseconds by size, or ISO 8601. */
  kind: z.enum(['auto', 's', 'ms', 'iso']).default('auto'),
  /** Zone of times that carry none. */
  zone: z.string().refine(isTimeZone, 'a time zone name such as Europe/Berlin').default('UTC'),
  optional: z.boolean().default(false),
});
export type MappingTime = z.infer<typeof timeSchema>;

const checkSchema = z.strictObject({
  min: z.number().optional(),
  max: z.number().optional(),
  /** Values past the range but inside these are moved to its bound. */
  clampMin: z.number().optional(),
  clampMax: z.number().optional(),
  maxRatePerMinute: z.number().positive().nullable().optional(),
  stuckAfterMinutes: z.number().positive().nullable().optional(),
});
export type CheckOverride = z.infer<typeof checkSchema>;

const clockSchema = z.strictObject({
  /** Times before this day are taken for a clock that was never set. */
  earliest: z.string().refine(isLocalDay, 'a day such as 2020-01-01').optional(),
  /** Times further ahead of arrival than this are taken for a wrong clock. */
  aheadSeconds: z.number().min(0).max(86_400).optional(),
});

const commonShape = {
  id: idSchema,
  topic: z.string().superRefine((text, context) => {
    const fault = topicPatternFault(text);
    if (fault) context.addIssue({ code: 'custom', message: fault });
  }),
  site: idSchema,
  house: placeSchema.optional(),
  bench: placeSchema.optional(),
  placement: z.enum(['inside', 'outside']).default('inside'),
  checks: z.partialRecord(quantitySchema, checkSchema).optional(),
  clock: clockSchema.optional(),
};
const textShape = {
  /** Text cut off the end of values, such as % in "45 %". */
  stripSuffix: z.string().min(1).max(16).optional(),
  /** Values such as "21,5". */
  decimalComma: z.boolean().default(false),
};
const jsonShape = {
  ...commonShape,
  sensor: templateSchema,
  /** JSON pointer to an array of items; pointers of fields and time then start at each item. */
  items: pointerSchema.optional(),
  maxItems: z.number().int().min(1).max(50_000).default(5000),
  fields: z.array(fieldSchema).min(1).max(200),
  /** At least one of the fields has to be there. */
  requireAny: z.boolean().default(false),
  time: timeSchema.optional(),
  ...textShape,
};
const namedSchema = z.strictObject({ quantity: quantitySchema, unit: unitSchema, ...valueShape });

const formats = z.discriminatedUnion('format', [
  z.strictObject({ format: z.literal('json'), ...jsonShape }),
  /** A JSON string that holds JSON. */
  z.strictObject({ format: z.literal('json-in-json'), ...jsonShape }),
  /** The whole message is one number. */
  z.strictObject({
    format: z.literal('value'),
    ...commonShape,
    sensor: templateSchema,
    quantity: quantitySchema,
    unit: unitSchema,
    ...valueShape,
    ...textShape,
  }),
  /** RFC 8428. */
  z.strictObject({
    format: z.literal('senml'),
    ...commonShape,
    sensor: templateSchema.default('{name}'),
    maxItems: z.number().int().min(1).max(50_000).default(5000),
    byUnit: z.record(z.string().min(1), quantitySchema).default({}),
    /** Last word of a record's name → quantity, for what no registered unit tells (plant light, for one). */
    byName: z.record(z.string().min(1), namedSchema).default({}),
  }),
  /** Eclipse Sparkplug 3.0. The last word of a metric's name says what it is. */
  z.strictObject({
    format: z.literal('sparkplug-b'),
    ...commonShape,
    sensor: templateSchema.optional(),
    byName: z.record(z.string().min(1), namedSchema),
  }),
]);

type Formats = z.infer<typeof formats>;
type Issue = (path: (string | number)[], expected: string, got: string, mend?: string) => void;

const wordsOf: Record<Formats['format'], readonly string[]> = {
  json: [],
  'json-in-json': [],
  value: [],
  senml: ['name'],
  'sparkplug-b': ['group', 'node', 'device', 'folder'],
};

function checkTemplate(mapping: Formats, path: (string | number)[], template: string, issue: Issue): void {
  const parts = parseTemplate(template);
  if (typeof parts === 'string') return;
  const wildcards = wildcardCount(mapping.topic);
  for (const part of parts) {
    if (part.kind === 'wildcard' && part.index > wildcards)
      issue(path, `{1} to {${wildcards}}, one for each wildcard of ${mapping.topic}`, `{${part.index}}`);
    if (part.kind === 'pointer' && mapping.format !== 'json' && mapping.format !== 'json-in-json')
      issue(path, 'no {pointer:...} outside JSON messages', template);
    if (part.kind === 'word' && !wordsOf[mapping.format].includes(part.word))
      issue(
        path,
        `placeholders this format has (${['{1}', ...wordsOf[mapping.format].map((w) => `{${w}}`)].join(', ')})`,
        `{${part.word}}`,
      );
  }
}

function checkUnit(path: (string | number)[], quantities: readonly Quantity[], unit: string, issue: Issue): void {
  for (const quantity of quantities)
    if (!unitConversion(quantity, unit))
      issue(path, `a unit of ${quantity}: ${acceptedUnits(quantity).join(', ')}`, unit);
}

function checkMapping(mapping: Formats, issue: Issue): void {
  for (const key of ['sensor', 'house', 'bench'] as const) {
    const place = mapping[key];
    if (place === undefined) continue;
    if (typeof place === 'string') checkTemplate(mapping, [key], place, issue);
    else checkTemplate(mapping, [key, 'from'], place.from, issue);
  }
  if (mapping.placement === 'inside' && mapping.house === undefined)
    issue(
      ['house'],
      'the house the sensor stands in, such as north-house or {1}',
      'nothing',
      'Or set placement: outside.',
    );
  if (mapping.bench !== undefined && mapping.house === undefined)
    issue(['bench'], 'a house beside the bench', 'no house');
  for (const [quantity, check] of Object.entries(mapping.checks ?? {}))
    if (check.min !== undefined && check.max !== undefined && check.min >= check.max)
      issue(['checks', quantity], 'min below max', `${check.min} and ${check.max}`);
  switch (mapping.format) {
    case 'json':
    case 'json-in-json':
      mapping.fields.forEach((field, index) => {
        if (typeof field.unit !== 'string') return;
        const quantities = typeof field.quantity === 'string' ? [field.quantity] : Object.values(field.quantity.map);
        checkUnit(['fields', index, 'unit'], quantities, field.unit, issue);
      });
      break;
    case 'value':
      checkUnit(['unit'], [mapping.quantity], mapping.unit, issue);
      break;
    case 'senml':
      if (Object.keys(mapping.byUnit).length + Object.keys(mapping.byName).length === 0)
        issue(
          ['byUnit'],
          'at least one unit or name with its quantity',
          'none',
          'For example byUnit: { Cel: airTempC }.',
        );
      // In SenML F is farad; Fahrenheit has no registered unit.
      for (const [unit, quantity] of Object.entries(mapping.byUnit))
        if (unit === 'F')
          issue(['byUnit', unit], 'a unit of the SenML registry that measures the quantity', 'F (farad)');
        else checkUnit(['byUnit', unit], [quantity], unit, issue);
      for (const [name, entry] of Object.entries(mapping.byName))
        checkUnit(['byName', name, 'unit'], [entry.quantity], entry.unit, issue);
      break;
    case 'sparkplug-b':
      for (const [name, entry] of Object.entries(mapping.byName))
        checkUnit(['byName', name, 'unit'], [entry.quantity], entry.unit, issue);
      break;
  }
}

/** A mapping as written in the configuration. Issues carry `params: { got, mend }` beside what was expected. */
export const mappingSchema = formats.superRefine((mapping, context) => {
  checkMapping(mapping, (path, expected, got, mend) =>
    context.addIssue({ code: 'custom', path, message: expected, params: { got, ...(mend ? { mend } : {}) } }),
  );
});
export type Mapping = z.infer<typeof mappingSchema>;
/** As a person writes it, defaults left out. */
export type MappingInput = z.input<typeof mappingSchema>;
export type MappingOf<F extends Mapping['format']> = Extract<Mapping, { format: F }>;

export interface MappingOverlap {
  /** The earlier mapping takes the message. */
  readonly firstId: string;
  readonly secondId: string;
  /** True when the later one can never get a message. */
  readonly hidden: boolean;
  /** A topic that both match. */
  readonly example: string;
}

/** Mappings whose topics meet, in configuration order: the first one wins, and a hidden one is never used. */
export function findOverlaps(mappings: readonly Pick<Mapping, 'id' | 'topic'>[]): MappingOverlap[] {
  const overlaps: MappingOverlap[] = [];
  mappings.forEach((first, index) => {
    for (const second of mappings.slice(index + 1)) {
      const example = commonTopic(first.topic, second.topic);
      if (example === undefined) continue;
      overlaps.push({
        firstId: first.id,
        secondId: second.id,
        hidden: coversTopic(first.topic, second.topic),
        example,
      });
    }
  });
  return overlaps;
}

/** Houses and benches that a mapping names outright, so that the configuration can be checked against them. */
export function namedPlaces(mapping: Mapping): { houses: string[]; benches: string[] } {
  const names = (place: Mapping['house']): string[] => {
    if (place === undefined) return [];
    if (typeof place !== 'string') return [...new Set(Object.values(place.map))];
    const parts = parseTemplate(place);
    return typeof parts !== 'string' && parts.every((part: TemplatePart) => part.kind === 'text') ? [place] : [];
  };
  return { houses: names(mapping.house), benches: names(mapping.bench) };
}
