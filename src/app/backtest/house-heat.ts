import { existsSync } from 'node:fs';
import { join } from 'node:path';
import type { HouseOutlook } from '../../domain/outlook.js';
import { instantOnDay, type LocalDay } from '../../domain/time.js';
import { type AlertBatch, probabilityAbove } from '../../models/alert-kinds/finding.js';
import { hotSpell } from '../../models/alert-kinds/hot-spell.js';
import type { MeasuredDay } from '../../models/alert-kinds/house-facts.js';
import { alertLimitsOf } from '../../models/alert-limits.js';
import { airPrior, UNKNOWN_HOUSE } from '../../models/house-thermal/air-prior.js';
import type { ThermalDay } from '../../models/house-thermal/days.js';
import { prepareRecord } from '../../models/house-thermal/house-record.js';
import { walk } from '../../models/house-thermal/walk.js';
import type { Contingency } from '../../science/scores.js';
import { houseMetaOf, readHouseMetas, readHouseRecord } from '../house-records.js';
import { countWarned, emptyTable } from './warning-table.js';

/**
 * Heat in real houses, told by the house model every morning at 06:00 from what was measured until then. The outside columns
 * of the coming days stand for a perfect forecast, so what is missed here is missed by the house model.
 */
const ISSUED_AT = '06:00';
/** A warning from this probability on: what alerts use where a house sets nothing else. */
const TELL_PROBABILITY = alertLimitsOf().hotTellPct / 100;

export interface HeatHouse {
  readonly name: string;
  readonly zone: string;
  readonly scoreFrom: LocalDay;
  /** Day maximum that is called warm in this house, °C. */
  readonly warmDayC: number;
  readonly days: readonly ThermalDay[];
  readonly mornings: readonly Morning[];
}

/** What was foretold on one morning. */
interface Morning {
  readonly index: number;
  readonly outlook: HouseOutlook;
}

const metaPathOf = (dataFolder: string): string => join(dataFolder, 'houses/houses.json');

/** Houses that are described and whose record is there. */
export async function heatHouseNames(dataFolder: string): Promise<string[]> {
  const names = [...(await readHouseMetas(metaPathOf(dataFolder))).keys()];
  return names.filter((name) => existsSync(recordPathOf(dataFolder, name)));
}

const recordPathOf = (dataFolder: string, name: string): string => join(dataFolder, `houses/${name}.csv.gz`);

export async function readHeatHouse(dataFolder: string, name: string): Promise<HeatHouse> {
  const metaPath = metaPathOf(dataFolder);
  const metas = await readHouseMetas(metaPath);
  const meta = houseMetaOf(metas, name, metaPath);
  const { samples } = await readHouseRecord(recordPathOf(dataFolder, name));
  const place = { zone: meta.zone, latitude: meta.latitude, longitude: meta.longitude, elevationM: meta.elevationM };
  const { hours, days } = prepareRecord(samples, place);
  const { mornings } = walk(hours, days, { place, prior: airPrior(UNKNOWN_HOUSE), issuedAt: ISSUED_AT });
  const warmDayC = (metas.get(name) as { readonly warmDayC?: number }).warmDayC ?? alertLimitsOf().hotDayC;
  return {
    name,
    zone: meta.zone,
    scoreFrom: meta.scoreFrom ?? (days[0] as ThermalDay).day,
    warmDayC,
    days,
    mornings: mornings.map(({ morning, forecasts }) => {
      const { day } = days[morning.dayIndex] as ThermalDay;
      return {
        index: morning.dayIndex,
        outlook: {
          houseId: name,
          issuedAt: instantOnDay(meta.zone, day, ISSUED_AT),
          basis: 'forecast',
          from: 'the record',
          hours: [],
          days: forecasts.map(({ day, lead, maxC }) => ({ day, lead, dayMaxC: maxC })),
          learned: [],
        },
      };
    }),
  };
}

export interface WarmDayScores {
  readonly house: string;
  readonly lead: number;
  readonly days: number;
  readonly warmDays: number;
  /** Warned when a warm day is likely enough. */
  readonly told: Contingency;
  /** Warned when the middle of the forecast is warm. */
  readonly middle: Contingency;
  /** Warned when the last complete day was warm. */
  readonly persistence: Contingency;
}

/** How warm days were told, by days ahead: 0 that morning, 1 the morning before. */
export function warmDayScores(house: HeatHouse, lead: number): WarmDayScores {
  const [told, middle, persistence] = [emptyTable(), emptyTable(), emptyTable()];
  let days = 0;
  for (const { index, outlook } of house.mornings) {
    const target = house.days[index + lead];
    const band = outlook.days.find((day) => day.lead === lead)?.dayMaxC;
    const last = house.days.slice(0, index).findLast(({ maxC }) => maxC !== null)?.maxC;
    if (!target || target.maxC === null || target.day < house.scoreFrom || !band || last == null) continue;
    days += 1;
    const warm = target.maxC >= house.warmDayC;
    countWarned(told, probabilityAbove(band, house.warmDayC) >= TELL_PROBABILITY, warm);
    countWarned(middle, band.p50 >= house.warmDayC, warm);
    countWarned(persistence, last >= house.warmDayC, warm);
  }
  return { house: house.name, lead, days, warmDays: told.hits + told.misses, told, middle, persistence };
}

/** A batch that changes its leaf pair: the strictest limit that the hot-spell alert has. */
export const CHANGING: AlertBatch = {
  batchId: 'changing',
  name: 'changing',
  benchName: 'bench',
  waterPhase: 'splitting',
  verdictAlerts: [],
  damageDayMaxC: 40,
  minSafeDryC: 0,
};

/** Mornings on which the hot-spell alert of the service holds in this house, with its strictest limit. */
export function hotSpellMornings({ name, zone, days, mornings }: HeatHouse): LocalDay[] {
  return mornings.flatMap(({ index, outlook }) => {
    const past: MeasuredDay[] = days
      .slice(0, index)
      .map(({ day, maxC }) => ({ day, ...(maxC !== null && { dayMaxC: maxC }) }));
    const finding = hotSpell({
      at: outlook.issuedAt,
      zone,
      houseId: name,
      houseName: name,
      limits: alertLimitsOf(),
      batches: [CHANGING],
      listFacts: {},
      outlook,
      past,
      now: {},
      clearNightLeafDropC: 2,
      stillAir: false,
    });
    return finding.known === true && finding.level > 0 ? [(days[index] as ThermalDay).day] : [];
  });
}
