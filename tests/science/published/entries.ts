/** How published figures are kept and compared: one file of entries, one computation per entry, one comparison. */
import { readFileSync } from 'node:fs';
import { expect } from 'vitest';

// biome-ignore lint/suspicious/noExplicitAny: each entry has inputs of its own form
export type Inputs = any;
type Plain = number | string | null | undefined;
export type Computed = Readonly<Record<string, Plain | readonly Plain[]>>;
export type Computations = Readonly<Record<string, (inputs: Inputs) => Computed>>;

export interface Entry {
  readonly id: string;
  readonly source: { readonly authors: string; readonly title: string; readonly year: number | string };
  /** published, computed or remembered. */
  readonly basis: string;
  readonly inputs: Inputs;
  readonly expected: Readonly<Record<string, Plain | readonly Plain[]>>;
  readonly tolerance: Readonly<Record<string, number | boolean>>;
  /** Figures of the entry that are not checked, by key or key[index], and why. */
  readonly omitted?: Readonly<Record<string, string>>;
}

export function readEntries<T>(name: string): T[] {
  return JSON.parse(readFileSync(new URL(`../data/${name}.json`, import.meta.url), 'utf8'));
}

const asList = <T>(value: T | readonly T[]): readonly T[] => (Array.isArray(value) ? value : [value as T]);

/** Seconds since midnight of a clock time, or since the epoch of an instant; undefined for any other text. */
function seconds(text: string): number | undefined {
  const clock = /^(\d\d):(\d\d)(?::(\d\d))?$/.exec(text);
  if (clock) return Number(clock[1]) * 3600 + Number(clock[2]) * 60 + Number(clock[3] ?? 0);
  if (!/^\d{4}-\d\d-\d\dT/.test(text)) return undefined;
  return Date.parse(/Z$/.test(text) ? text : `${text}Z`) / 1000;
}

function expectFigure(label: string, computed: Plain, wanted: Plain, entry: Entry, key: string): void {
  const instant = typeof wanted === 'string' ? seconds(wanted) : undefined;
  if (typeof wanted === 'string' && instant === undefined) {
    expect(computed, label).toBe(wanted);
    return;
  }
  // A count or an exact entry has no tolerance of its own.
  const tolerance = Number(entry.tolerance[instant === undefined ? key : 'time_s'] ?? entry.tolerance.abs_all ?? 0);
  const got = instant === undefined ? Number(computed ?? Number.NaN) : (seconds(String(computed)) ?? Number.NaN);
  // The last digit is allowed for: sums of decimal fractions are not exact.
  const off = Math.abs(got - (instant ?? Number(wanted)));
  expect(off, `${label}: ${computed} against ${wanted}`).toBeLessThanOrEqual(tolerance + 1e-12);
}

/** Every expected figure that is not listed as omitted must have been computed and lie within its tolerance. */
export function expectPublished(entry: Entry, computed: Computed): void {
  for (const [key, wantedList] of Object.entries(entry.expected)) {
    if (entry.omitted?.[key] !== undefined) continue;
    const computedList = asList<Plain>(computed[key]);
    asList<Plain>(wantedList).forEach((wanted, index) => {
      // null means that the source gives no figure there.
      if (wanted === null || entry.omitted?.[`${key}[${index}]`] !== undefined) return;
      expectFigure(`${entry.id} ${key}[${index}]`, computedList[index], wanted, entry, key);
    });
  }
}
