import { join } from 'node:path';
import { daysBetween, type LocalDay } from '../../domain/time.js';
import { type DayHeat, type HotSpellLimits, heatRecord, hotSpellFrom } from '../../models/hot-spell.js';
import { calendarDay, calendarDayPercentiles, excessHeatOn, heatDayMeanC, warmSpells } from '../../science/heat.js';
import { quantile } from '../../science/statistics/quantiles.js';
import { MS_PER_86400_S } from '../../science/units.js';
import { numberOf, readCsv } from './tables.js';

/** Daily observations of Australian sites (Commonwealth of Australia, Bureau of Meteorology), taken as if they were houses. */
export interface SpellSite {
  readonly name: string;
  /** Every day from the first to the last, without holes. */
  readonly days: readonly DayHeat[];
}

/** Month that a spell begins in, 1-12, and its length in days. */
export interface Spell {
  readonly site: string;
  readonly first: LocalDay;
  readonly days: number;
}

export function readAustralia(dataFolder: string): SpellSite[] {
  const path = join(dataFolder, 'weather/wx_australia/weatherAUS_2007_2017.csv.gz');
  const bySite = new Map<string, Map<LocalDay, DayHeat>>();
  for (const row of readCsv(path, ['Date', 'Location', 'MinTemp', 'MaxTemp'])) {
    const [name, day] = [row.Location as string, row.Date as LocalDay];
    const [dayMaxC, nightMinC] = [numberOf(row.MaxTemp), numberOf(row.MinTemp)];
    const days = bySite.get(name) ?? new Map<LocalDay, DayHeat>();
    bySite.set(name, days);
    // The minimum is of the 24 hours up to 9 o'clock of the date, the maximum of those after it.
    days.set(day, { day, ...(dayMaxC !== undefined && { dayMaxC }), ...(nightMinC !== undefined && { nightMinC }) });
  }
  return [...bySite].map(([name, days]) => {
    const dates = [...days.keys()].sort();
    const [first, last] = [dates[0] as LocalDay, dates.at(-1) as LocalDay];
    const count = daysBetween(first, last) + 1;
    const whole = Array.from({ length: count }, (_, i) => dayAfter(first, i));
    return { name, days: whole.map((day) => days.get(day) ?? { day }) };
  });
}

/** Dates alone, no instants: a hundred thousand of them. */
const dayAfter = (first: LocalDay, days: number): LocalDay =>
  new Date(Date.parse(`${first}T00:00:00Z`) + days * MS_PER_86400_S).toISOString().slice(0, 10);
const calendarDayOf = (day: LocalDay): number => calendarDay(Number(day.slice(5, 7)), Number(day.slice(8, 10)));

/** Runs of at least three days above the calendar-day 90th percentile of the whole record (ETCCDI TX90p). */
export function percentileSpells({ name, days }: SpellSite): Spell[] {
  const limits = calendarDayPercentiles(
    days.flatMap(({ day, dayMaxC }) =>
      dayMaxC === undefined ? [] : [{ calendarDay: calendarDayOf(day), value: dayMaxC }],
    ),
  );
  const runs = warmSpells(
    days.map(({ dayMaxC }) => dayMaxC),
    days.map(({ day }) => limits[calendarDayOf(day) - 1]),
    3,
  ).runs.filter(({ length }) => length >= 3);
  return runs.map(({ start, length }) => ({ site: name, first: days[start]?.day ?? '', days: length }));
}

/** Runs of days with an excess heat factor above nought, 95th percentile of the whole record (Nairn & Fawcett 2015). */
export function excessHeatSpells({ name, days }: SpellSite): Spell[] {
  const means = days.map(({ dayMaxC }, i) => {
    const nightC = days[i + 1]?.nightMinC;
    return dayMaxC === undefined || nightC === undefined ? undefined : heatDayMeanC(dayMaxC, nightC);
  });
  const limitC = quantile(
    means.filter((mean) => mean !== undefined),
    0.95,
    8,
  );
  // Three days exactly at the limit are no excess: what is left is rounding.
  return runsOf(name, days, (i) => (excessHeatOn(means, i, limitC)?.excessHeatFactorC2 ?? 0) > 1e-9);
}

/** The rule of the service, day by day, with the record that was there on the last 1 July before. */
export function serviceSpells({ name, days }: SpellSite, limits: HotSpellLimits): Spell[] {
  let record = heatRecord([]);
  return runsOf(name, days, (i) => {
    const { day } = days[i] as DayHeat;
    if (day.endsWith('-07-01')) record = heatRecord(days.slice(0, i));
    return hotSpellFrom(days, i, record, limits).met === true;
  });
}

function runsOf(site: string, days: readonly DayHeat[], holds: (index: number) => boolean): Spell[] {
  const spells: { site: string; first: LocalDay; days: number }[] = [];
  let open: { days: number } | undefined;
  days.forEach(({ day }, index) => {
    if (!holds(index)) {
      open = undefined;
      return;
    }
    if (open) {
      open.days += 1;
      return;
    }
    const spell = { site, first: day, days: 1 };
    spells.push(spell);
    open = spell;
  });
  return spells;
}

export const monthOf = ({ first }: Spell): number => Number(first.slice(5, 7));
/** November to March: the warm months of the south. */
export const inWarmMonths = (spell: Spell): boolean => monthOf(spell) >= 11 || monthOf(spell) <= 3;
export const inWinter = (spell: Spell): boolean => monthOf(spell) >= 6 && monthOf(spell) <= 8;
