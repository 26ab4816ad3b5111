import type { MappingField, MappingOf } from '../domain/mapping.js';
import type { Quantity } from '../domain/quantities.js';
import { parsePointer, parseTemplate, type TemplatePart } from '../domain/topics.js';
import { type UnitConversion, unitConversion } from '../domain/units.js';
import { type Decoded, type NumberForm, parseNumber } from './decode.js';
import { deviceInstant } from './instants.js';
import { lookUp } from './pointer.js';
import { type Fault, fault, quoted } from './reasons.js';

/** From a parsed message to candidate readings in canonical units. What cannot be read becomes a fault of its own. */
export interface DeviceTime {
  readonly at: number;
  /** Told relative to arrival. */
  readonly relative: boolean;
}
export interface Candidate {
  readonly quantity: Quantity;
  /** Canonical unit. */
  readonly value: number;
  readonly where: string;
}
/** Values that belong together: one sensor, one time. */
export interface Item {
  readonly sensor: Decoded<string>;
  readonly device: DeviceTime | undefined;
  readonly candidates: readonly Candidate[];
  readonly faults: readonly Fault[];
}
export interface Extracted {
  readonly items: readonly Item[];
  readonly faults: readonly Fault[];
}
/** What a topic tells: what its wildcards stood for, and the sensor where the topic alone names it. */
export interface TopicFacts {
  readonly wildcards: readonly string[];
  readonly sensor: Decoded<string> | undefined;
}
/** True when every message of one topic is from one sensor. */
export const namedByTopic = (parts: readonly TemplatePart[]): boolean =>
  parts.every((part) => part.kind === 'text' || part.kind === 'wildcard');

const refused = (what: Fault): Extracted => ({ items: [], faults: [what] });

export const pointerPath = (pointer: string): string[] => parsePointer(pointer) ?? [];
export const templateParts = (template: string): TemplatePart[] => {
  const parts = parseTemplate(template);
  if (typeof parts === 'string') throw new TypeError(`Template ${template}: expected ${parts}`);
  return parts;
};

/** Everything a template may draw on. */
export interface TemplateSource {
  readonly wildcards: readonly string[];
  readonly root?: unknown;
  readonly words?: Readonly<Record<string, string>>;
}
const MAX_NAME = 200;

/** Fills a template; a name that comes out empty or unusable is a fault. */
export function fillTemplate(parts: readonly TemplatePart[], source: TemplateSource): Decoded<string> {
  let text = '';
  for (const part of parts) {
    if (part.kind === 'text') text += part.text;
    else if (part.kind === 'wildcard') text += source.wildcards[part.index - 1] ?? '';
    else if (part.kind === 'word') text += source.words?.[part.word] ?? '';
    else {
      const found = lookUp(source.root, part.path);
      if ((typeof found !== 'string' && typeof found !== 'number') || found === '')
        return {
          ok: false,
          fault: fault(
            'sensor-name',
            `Expected the name of the sensor at /${part.path.join('/')}, got ${quoted(found)}.`,
          ),
        };
      text += found;
    }
  }
  const name = text.trim();
  // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for.
  if (name === '' || name.length > MAX_NAME || /[\u0000-\u001f\u007f]/.test(name))
    return {
      ok: false,
      fault: fault('sensor-name', `Expected a sensor name of 1 to ${MAX_NAME} characters, got ${quoted(name)}.`),
    };
  return { ok: true, value: name };
}

interface ValueForm extends NumberForm {
  readonly scale: number;
  readonly offset: number;
  readonly noReading: readonly number[];
}
interface ValueShape {
  readonly scale?: number | undefined;
  readonly offset?: number | undefined;
  readonly noReading?: readonly number[] | undefined;
}
const valueForm = (shape: ValueShape, form: NumberForm): ValueForm => ({
  scale: shape.scale ?? 1,
  offset: shape.offset ?? 0,
  noReading: shape.noReading ?? [],
  decimalComma: form.decimalComma,
  stripSuffix: form.stripSuffix,
});

/** A number as it stands: no scale, no codes. */
export const PLAIN_VALUE: ValueForm = valueForm({}, {});

/** Raw value of a message → canonical value. */
export function canonicalValue(
  raw: unknown,
  form: ValueForm,
  conversion: UnitConversion,
  where: string,
): Decoded<number> {
  const number = parseNumber(raw, form, where);
  if (!number.ok) return number;
  if (form.noReading.includes(number.value))
    return {
      ok: false,
      fault: fault(
        'no-reading-code',
        `${number.value} is the code by which this device says it has no reading.`,
        where,
      ),
    };
  const value = (number.value * form.scale + form.offset) * conversion.factor + conversion.offset;
  return Number.isFinite(value)
    ? { ok: true, value }
    : { ok: false, fault: fault('not-finite', 'The number is too large to be a measurement.', where) };
}

export const unknownUnit = (quantity: Quantity, unit: unknown, where: string): Fault =>
  fault('unknown-unit', `${quoted(unit)} is not a unit in which ${quantity} can be read; nothing is guessed.`, where);

interface CompiledField {
  readonly pointer: string;
  readonly path: readonly string[];
  readonly quantity:
    | Quantity
    | { readonly path: readonly string[]; readonly pointer: string; readonly map: ReadonlyMap<string, Quantity> };
  readonly unit: string | { readonly path: readonly string[] };
  /** Known beforehand where neither quantity nor unit depends on the message. */
  readonly conversion: UnitConversion | undefined;
  readonly form: ValueForm;
  readonly optional: boolean;
}

function compileField(field: MappingField, form: NumberForm): CompiledField {
  const quantity =
    typeof field.quantity === 'string'
      ? field.quantity
      : {
          path: pointerPath(field.quantity.from),
          pointer: field.quantity.from,
          map: new Map(Object.entries(field.quantity.map)),
        };
  const unit = typeof field.unit === 'string' ? field.unit : { path: pointerPath(field.unit.from) };
  return {
    pointer: field.pointer,
    path: pointerPath(field.pointer),
    quantity,
    unit,
    conversion: typeof quantity === 'string' && typeof unit === 'string' ? unitConversion(quantity, unit) : undefined,
    form: valueForm(field, form),
    optional: field.optional,
  };
}

/** One field of one item: a candidate, a fault, or nothing because it is not there and need not be. */
function readField(field: CompiledField, item: unknown, where: string): Candidate | Fault | 'absent' | 'other' {
  const raw = lookUp(item, field.path);
  if (raw === undefined)
    return field.optional
      ? 'absent'
      : fault('missing-field', `Expected a value at ${field.pointer || 'the top'}, found none.`, where);
  let quantity: Quantity;
  if (typeof field.quantity === 'string') quantity = field.quantity;
  else {
    const word = lookUp(item, field.quantity.path);
    if (word === undefined)
      return fault('missing-field', `Expected the kind of value at ${field.quantity.pointer}, found none.`, where);
    const known = field.quantity.map.get(String(word));
    // A kind of value that the mapping does not ask for.
    if (known === undefined) return 'other';
    quantity = known;
  }
  let conversion = field.conversion;
  if (conversion === undefined) {
    const unit = typeof field.unit === 'string' ? field.unit : lookUp(item, field.unit.path);
    conversion = typeof unit === 'string' ? unitConversion(quantity, unit) : undefined;
    if (conversion === undefined) return unknownUnit(quantity, unit, where);
  }
  const value = canonicalValue(raw, field.form, conversion, where);
  return value.ok ? { quantity, value: value.value, where } : value.fault;
}

const isFault = (thing: Candidate | Fault): thing is Fault => 'reason' in thing;

/** Reader of JSON messages of one mapping. */
export function jsonReader(
  mapping: MappingOf<'json' | 'json-in-json'>,
): (root: unknown, topic: TopicFacts) => Extracted {
  const form: NumberForm = { decimalComma: mapping.decimalComma, stripSuffix: mapping.stripSuffix };
  const fields = mapping.fields.map((field) => compileField(field, form));
  const sensorParts = templateParts(mapping.sensor);
  const itemsPath = mapping.items === undefined ? undefined : pointerPath(mapping.items);
  const timePath = mapping.time === undefined ? undefined : pointerPath(mapping.time.pointer);
  // A bare value or a plain array can only be read where a pointer says so.
  const readsWhole = fields.some((field) => field.path.length === 0);
  const readsPlaces = fields.some((field) => /^\d+$/.test(field.path[0] ?? ''));
  const fits = (item: unknown): boolean =>
    Array.isArray(item) ? readsPlaces : typeof item === 'object' && item !== null ? true : readsWhole;

  const readItem = (root: unknown, item: unknown, prefix: string, single: boolean, topic: TopicFacts): Item => {
    const candidates: Candidate[] = [];
    const faults: Fault[] = [];
    let present = 0;
    for (const field of fields) {
      const where = single ? field.pointer : prefix + (fields.length === 1 ? '' : field.pointer);
      const result = readField(field, item, where);
      if (result === 'absent') continue;
      present++;
      if (result === 'other') continue;
      if (isFault(result)) faults.push(result);
      else candidates.push(result);
    }
    if (mapping.requireAny && present === 0)
      faults.push(
        fault(
          'missing-field',
          `Expected at least one of ${fields.map((field) => field.pointer).join(', ')}, found none.`,
        ),
      );
    let device: DeviceTime | undefined;
    if (mapping.time && timePath) {
      const raw = lookUp(item, timePath);
      const where = single ? mapping.time.pointer : prefix + mapping.time.pointer;
      const at = raw === undefined ? undefined : deviceInstant(raw, mapping.time);
      if (at !== undefined) device = { at, relative: false };
      else if (raw !== undefined)
        faults.push(fault('bad-timestamp', `Expected a time, got ${quoted(raw)}; the time of arrival is used.`, where));
      else if (!mapping.time.optional)
        faults.push(
          fault(
            'missing-field',
            `Expected a time at ${mapping.time.pointer}, found none; the time of arrival is used.`,
            where,
          ),
        );
    }
    return {
      sensor: topic.sensor ?? fillTemplate(sensorParts, { wildcards: topic.wildcards, root }),
      device,
      candidates,
      faults,
    };
  };

  return (root, topic) => {
    if (itemsPath === undefined) {
      if (!fits(root)) return refused(fault('unexpected-type', `Expected a JSON object, got ${quoted(root)}.`));
      return { items: [readItem(root, root, '', true, topic)], faults: [] };
    }
    const list = lookUp(root, itemsPath);
    if (!Array.isArray(list))
      return refused(
        fault(
          'unexpected-type',
          `Expected a list at ${mapping.items || 'the top'}, got ${quoted(list)}.`,
          mapping.items,
        ),
      );
    if (list.length > mapping.maxItems)
      return refused(
        fault(
          'batch-too-large',
          `The message holds ${list.length} records; at most ${mapping.maxItems} are read at once.`,
        ),
      );
    const items: Item[] = [];
    const faults: Fault[] = [];
    list.forEach((item: unknown, index) => {
      const prefix = mapping.items === '' ? String(index) : `${mapping.items}/${index}`;
      if (fits(item)) items.push(readItem(root, item, prefix, false, topic));
      else faults.push(fault('unexpected-type', `Expected a JSON object, got ${quoted(item)}.`, prefix));
    });
    return { items, faults };
  };
}

/** Reader of messages that are one number. */
export function valueReader(mapping: MappingOf<'value'>): (text: string, topic: TopicFacts) => Extracted {
  const form = valueForm(mapping, { decimalComma: mapping.decimalComma, stripSuffix: mapping.stripSuffix });
  const conversion = unitConversion(mapping.quantity, mapping.unit);
  if (!conversion) throw new TypeError(`Mapping ${mapping.id}: ${mapping.unit} is not a unit of ${mapping.quantity}`);
  const sensorParts = templateParts(mapping.sensor);
  return (text, topic) => {
    const value = canonicalValue(text, form, conversion, '');
    const sensor = topic.sensor ?? fillTemplate(sensorParts, topic);
    return {
      items: [
        {
          sensor,
          device: undefined,
          candidates: value.ok ? [{ quantity: mapping.quantity, value: value.value, where: '' }] : [],
          faults: value.ok ? [] : [value.fault],
        },
      ],
      faults: [],
    };
  };
}

export interface NamedReader {
  readonly quantity: Quantity;
  readonly conversion: UnitConversion;
  readonly form: ValueForm;
}
/** Readers of values that are told by a name (SenML, Sparkplug). */
export function namedReaders(byName: MappingOf<'sparkplug-b'>['byName']): Map<string, NamedReader> {
  return new Map(
    Object.entries(byName).map(([name, entry]) => {
      const conversion = unitConversion(entry.quantity, entry.unit);
      if (!conversion) throw new TypeError(`${name}: ${entry.unit} is not a unit of ${entry.quantity}`);
      return [name, { quantity: entry.quantity, conversion, form: valueForm(entry, {}) }];
    }),
  );
}
