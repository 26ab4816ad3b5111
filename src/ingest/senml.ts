import { type Fault, fault, quoted } from './reasons.js';

/**
 * Sensor Measurement Lists, JSON form: RFC 8428, with the unit names of its registry (section 12.1) and of RFC 8798.
 * A pack is resolved first, so that each record stands alone; what the records mean is the mapping's business.
 */
export interface SenmlRecord {
  readonly name: string;
  readonly unit: string | undefined;
  /** Seconds since 1970; relative times are already added to the time of arrival. */
  readonly time: number;
  /** True when the time was told relative to arrival, or not at all. */
  readonly relative: boolean;
  readonly value?: number;
  readonly text?: string;
  readonly flag?: boolean;
  readonly data?: string;
  readonly sum?: number;
  /** Version of the pack, where it is not the one of RFC 8428. */
  readonly version?: number;
  /** Place in the pack. */
  readonly index: number;
}
export interface ResolvedPack {
  readonly records: readonly SenmlRecord[];
  readonly faults: readonly Fault[];
}

const SUPPORTED_VERSION = 10;
/** Times below are relative to now (RFC 8428 section 4.5.3). */
const RELATIVE_BELOW = 2 ** 28;
const NAME = /^[A-Za-z0-9][A-Za-z0-9\-:./_]*$/;
const LABELS = new Set('bn bt bu bv bs bver n u v vs vb vd s t ut'.split(' '));
const VALUE_LABELS = ['v', 'vs', 'vb', 'vd'] as const;
const NUMBER_LABELS = ['bt', 'bv', 'bs', 'v', 's', 't', 'ut'] as const;
const TEXT_LABELS = ['bn', 'bu', 'n', 'u', 'vs', 'vd'] as const;

/** Units of the IANA registry for SenML (RFC 8428 section 12.1, RFC 8798 section 3). Later additions may be missing. */
const REGISTERED = new Set(
  (
    'm kg g s A K cd mol Hz rad sr N Pa J W C V F Ohm S Wb T H Cel lm lx Bq Gy Sv kat m2 m3 l m/s m/s2 m3/s l/s W/m2 ' +
    'cd/m2 bit bit/s lat lon pH dB dBW Bspl count / % %RH %EL EL 1/s 1/min beat/min beats S/m B VA VAs var vars J/m ' +
    'kg/m3 deg NTU ms min h MHz kW kVA kvar Ah Wh kWh varh kvarh kVAh Wh/km KiB GB Mbit/s B/s MB/s mV mA dBm ug/m3 ' +
    'mm/h m/h ppm /100 /1000 hPa mm cm km km/h'
  ).split(' '),
);
export const isRegisteredUnit = (unit: string): boolean => REGISTERED.has(unit);

type Raw = Record<string, unknown>;

/** What is wrong with the types of one record, or undefined. */
function typeFault(record: Raw, index: number): Fault | undefined {
  const wrong = (label: string, expected: string): Fault =>
    fault(
      'senml-invalid',
      `Record ${index}: ${label} must be ${expected}, got ${quoted(record[label])}.`,
      String(index),
    );
  for (const label of NUMBER_LABELS)
    if (Object.hasOwn(record, label) && !Number.isFinite(record[label])) return wrong(label, 'a number');
  for (const label of TEXT_LABELS)
    if (Object.hasOwn(record, label) && typeof record[label] !== 'string') return wrong(label, 'text');
  if (Object.hasOwn(record, 'vb') && typeof record.vb !== 'boolean') return wrong('vb', 'true or false');
  return undefined;
}

/** Faults for which the whole pack has to be refused. */
function packFault(pack: readonly unknown[]): Fault | undefined {
  for (const record of pack) {
    if (typeof record !== 'object' || record === null) continue;
    const version = Object.hasOwn(record, 'bver') ? (record as Raw).bver : undefined;
    if (version !== undefined && !(typeof version === 'number' && version <= SUPPORTED_VERSION))
      return fault(
        'senml-version',
        `The message says SenML version ${quoted(version)}; ${SUPPORTED_VERSION} is read here.`,
      );
    for (const label of Object.keys(record))
      if (label.endsWith('_') && !LABELS.has(label))
        return fault(
          'senml-must-understand',
          `The message uses ${quoted(label)}, which must be understood and is not.`,
          label,
        );
  }
  return undefined;
}

/** Resolves a pack (RFC 8428 section 4.6). Records that cannot be resolved become faults; the others are kept. */
export function resolveSenml(pack: readonly unknown[], receivedAtMs: number): ResolvedPack {
  const refused = packFault(pack);
  if (refused) return { records: [], faults: [refused] };
  const records: SenmlRecord[] = [];
  const faults: Fault[] = [];
  const base = {
    name: '',
    time: 0,
    unit: undefined as string | undefined,
    value: 0,
    sum: 0,
    version: SUPPORTED_VERSION,
  };
  const receivedAtS = receivedAtMs / 1000;

  pack.forEach((entry, index) => {
    if (typeof entry !== 'object' || entry === null || Array.isArray(entry)) {
      faults.push(fault('senml-invalid', `Record ${index} is not an object but ${quoted(entry)}.`, String(index)));
      return;
    }
    const record = entry as Raw;
    const wrong = typeFault(record, index);
    if (wrong) {
      faults.push(wrong);
      return;
    }
    const own = <T>(label: string): T | undefined => (Object.hasOwn(record, label) ? (record[label] as T) : undefined);
    base.name = own<string>('bn') ?? base.name;
    base.time = own<number>('bt') ?? base.time;
    base.unit = own<string>('bu') ?? base.unit;
    base.value = own<number>('bv') ?? base.value;
    base.sum = own<number>('bs') ?? base.sum;
    base.version = own<number>('bver') ?? base.version;

    const values = VALUE_LABELS.filter((label) => Object.hasOwn(record, label));
    const hasSum = Object.hasOwn(record, 's');
    if (values.length > 1) {
      faults.push(fault('senml-invalid', `Record ${index} has several values: ${values.join(', ')}.`, String(index)));
      return;
    }
    // A record of base fields alone sets them for what follows and is no measurement itself.
    if (values.length === 0 && !hasSum) return;
    const name = base.name + (own<string>('n') ?? '');
    if (!NAME.test(name)) {
      faults.push(
        fault(
          'senml-invalid',
          name === ''
            ? `Record ${index} has no name.`
            : `Record ${index}: the name ${quoted(name)} may hold letters, digits and - : . / _ only.`,
          String(index),
        ),
      );
      return;
    }
    const told = base.time + (own<number>('t') ?? 0);
    const relative = told < RELATIVE_BELOW;
    const value = own<number>('v');
    const text = own<string>('vs');
    const flag = own<boolean>('vb');
    const data = own<string>('vd');
    const sum = own<number>('s');
    records.push({
      name,
      unit: own<string>('u') ?? base.unit,
      time: relative ? receivedAtS + told : told,
      relative,
      ...(value === undefined ? {} : { value: base.value + value }),
      ...(text === undefined ? {} : { text }),
      ...(flag === undefined ? {} : { flag }),
      ...(data === undefined ? {} : { data }),
      ...(sum === undefined ? {} : { sum: base.sum + sum }),
      ...(base.version === SUPPORTED_VERSION ? {} : { version: base.version }),
      index,
    });
  });
  return { records, faults };
}
