import { describe, expect, it } from 'vitest';
import { addDays, daysBetween, instantOnDay, localDayBounds, localDayHours } from '../../src/domain/time.js';
import {
  type Computations,
  type Entry,
  expectPublished,
  type Inputs,
  readEntries,
} from '../science/published/entries.js';

/** Every day of the years that is not 24 hours long, found by asking each day. */
function irregularDays(zone: string, years: readonly number[]): string[] {
  return years.flatMap((year) => {
    const days: string[] = [];
    for (let day = `${year}-01-01`; day <= `${year}-12-31`; day = addDays(day, 1)) {
      if (localDayHours(zone, day) !== 24) days.push(day);
    }
    return days;
  });
}

const zoneDays = ({ timeZone, years }: Inputs) => {
  const days = irregularDays(timeZone, years);
  return {
    localDays: days,
    lengthHours: days.map((day) => localDayHours(timeZone, day)),
    firstInstant_utc: days.map((day) => new Date(localDayBounds(timeZone, day).startMs).toISOString()),
  };
};

const computations: Computations = {
  'dst-europe-prague': zoneDays,
  'dst-australia-sydney': zoneDays,
  'dst-america-santiago-no-midnight': zoneDays,
  'dst-lord-howe-half-hour': zoneDays,
  'dst-none-zones': ({ timeZones, years }) => ({
    irregularDays: timeZones.map((zone: string) => irregularDays(zone, years).length),
  }),
  'iso8601-week-and-ordinal': ({ dates }) => ({
    ordinal: dates.map((date: string) => daysBetween(`${date.slice(0, 4)}-01-01`, date) + 1),
  }),
  'iso8601-ambiguous-and-missing-local-times': ({ timeZone, ambiguous_local, missing_local }) => {
    const at = (local: string) => instantOnDay(timeZone, local.slice(0, 10), local.slice(11));
    // A time that comes twice means the first, so the second is an hour of elapsed time later; a time that is skipped
    // lands as far after the jump as it stood into it.
    const first = at(ambiguous_local);
    const intoTheGapMs = at(missing_local) - at(`${missing_local.slice(0, 10)}T03:00`);
    return {
      ambiguousInstants_utc: [first, first + 3_600_000].map((ms) => new Date(ms).toISOString()),
      missingTransition_utc: new Date(at(missing_local) - intoTheGapMs).toISOString(),
    };
  },
};

describe('published days and times of the zones', () => {
  const entries = readEntries<Entry>('../../domain/data/published-time');

  it.each(entries)('$id: $basis', (entry) => {
    const compute = computations[entry.id];
    if (compute === undefined) throw new Error(`no computation for ${entry.id}`);
    const computed = compute(entry.inputs);
    expectPublished(entry, computed);
    // A list that came out longer than published would hide days found in error.
    const { localDays } = computed;
    if (localDays !== undefined) expect(localDays).toEqual(entry.expected.localDays);
  });
});
