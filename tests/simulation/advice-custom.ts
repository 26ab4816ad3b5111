import type { HouseWeather } from '../../src/advice/house-weather.js';
import { type Collection, foldEntry, type OpenCollection, openCollection } from '../../src/domain/collection.js';
import { type JournalEventInput, journalEventSchema } from '../../src/domain/journal.js';
import type { Quantity, RollUp } from '../../src/domain/quantities.js';
import { type Site, siteSchema } from '../../src/domain/site.js';
import { addDays, civilNoon, type LocalDay, localDayBounds } from '../../src/domain/time.js';
import type { Verdict } from '../../src/domain/verdict.js';
import {
  type ClimateDay,
  type ClimateDayFrame,
  climateDay,
  type HouseHours,
  isNightOver,
} from '../../src/models/house-climate.js';
import { atmosphericPressureKPa } from '../../src/science/air.js';
import { CATALOGUE } from '../support/nursery.js';
import { calendarCloth } from './customs.js';
import { type HouseDay, sensorHours, ZONE } from './glasshouse.js';
import type { Batch, Custom, Drink, MixedHouse } from './mixed-house.js';
import { ListMaker, type MorningList, type MorningParts } from './morning-list.js';
import type { Place } from './places.js';
import { kindOf } from './plant-kinds.js';
import { type Staff, staff } from './staff.js';

/*
 * The advice of the service, followed to the letter: its own climate from hourly sensors, its own journal, its list each
 * morning at five. Somebody looks where the list asks for it, the list is made anew, and what it then says is poured. No
 * forecast is set up, so the service takes the coming days for like the last ones. The cloth hangs as in the customs, so
 * that only the watering differs.
 */
const HOUSE = 'house';
const SITE = 'site';
const HOUR_MS = 3_600_000;
const ROUND_HOUR = 5;
/** Days of weather the service looks back on. */
const DAYS_BACK = 60;

export interface AdviceOptions {
  readonly looksAtMost: number;
  /** Hears of every list before anybody looked, and of what was then poured. */
  readonly onList?: (parts: MorningParts, list: MorningList, atMs: number) => void;
  readonly onVerdicts?: (day: HouseDay, verdicts: ReadonlyMap<string, Verdict>) => void;
}

export interface AdviceCustom extends Custom {
  readonly looks: number;
}

/** @param before days of the house before the first of the year, for the sensors to have been heard */
export function advised(
  place: Place,
  seed: number,
  before: readonly HouseDay[],
  days: readonly HouseDay[],
  options: AdviceOptions,
): AdviceCustom {
  return new Followed(place, seed, before, days, options);
}

class Followed implements AdviceCustom {
  readonly name = 'the advice';
  looks = 0;
  private readonly site: Site;
  private readonly state: OpenCollection = openCollection();
  private readonly lists: ListMaker;
  private readonly climate: ClimateDay[] = [];
  private readonly hours = new Map<Quantity, Map<number, RollUp>>();
  private readonly staff: Staff;
  private entryId = 0;
  private hungShare = 0;
  private hungSince: LocalDay | null = null;

  constructor(
    place: Place,
    private readonly seed: number,
    private readonly before: readonly HouseDay[],
    private readonly days: readonly HouseDay[],
    private readonly options: AdviceOptions,
  ) {
    this.site = siteSchema.parse({
      id: SITE,
      name: 'Site',
      latitude: place.latitudeDeg,
      longitude: 0,
      elevationM: place.elevationM,
      zone: ZONE,
      houses: [{ id: HOUSE, name: 'House', fans: true }],
    });
    this.staff = staff(seed);
    this.lists = new ListMaker(place.latitudeDeg);
    for (const day of before) this.hear(day);
  }

  clothShare = calendarCloth;

  morning(day: HouseDay, index: number, house: MixedHouse): Drink[] {
    const parts = this.parts(day);
    const first = this.lists.make(parts);
    this.options.onList?.(parts, first, roundAt(day));
    for (const { batchId, lookFor } of first.look)
      this.seen(day, index, house, batchId, /which phase|whether it is/.test(lookFor));
    // What was seen changes the verdict at once, of the batches that were looked at.
    const seen = new Set(first.look.map(({ batchId }) => batchId));
    const after = this.lists.make({ ...parts, collection: this.collection() }, seen);
    const verdicts = new Map([...first.verdicts, ...after.verdicts]);
    this.options.onVerdicts?.(day, verdicts);
    return this.poured(day, house, verdicts);
  }

  evening(day: HouseDay): void {
    this.hear(day);
  }

  private enter(day: LocalDay, hour: number, event: JournalEventInput): void {
    this.entryId += 1;
    const at = Date.parse(`${day}T00:00:00Z`) + hour * HOUR_MS + (this.entryId % 1000);
    const entry = { id: this.entryId, siteId: SITE, happenedAt: at, enteredAt: at, by: 'Ada' };
    foldEntry(this.state, { ...entry, event: journalEventSchema.parse(event) });
  }

  /** The collection is entered, every batch is looked at once, and nothing is known of the waterings before. */
  begin(house: MixedHouse): void {
    const day = this.days[0] as HouseDay;
    const first = this.before[0]?.day ?? day.day;
    this.enter(first, 9, { kind: 'bench-added', benchId: 'bench', houseId: HOUSE, name: 'Bench' });
    for (const batch of house.batches)
      this.enter(first, 9, {
        kind: 'batch-created',
        batchId: batch.id,
        name: batch.id,
        group: batch.group,
        benchId: 'bench',
        potCount: 20,
        sownOn: batch.young ? addDays(day.day, -120) : addDays(day.day, -1500),
      });
    for (const batch of house.batches) this.seen(day, 0, house, batch.id, true, ROUND_HOUR - 1);
  }

  private seen(
    day: HouseDay,
    index: number,
    house: MixedHouse,
    batchId: string,
    askedForPhase: boolean,
    hour = 6,
  ): void {
    const batch = house.batches.find(({ id }) => id === batchId) as Batch;
    const look = house.sample(batch, index);
    if (!look) {
      this.ended(day, batch);
      return;
    }
    this.looks += 1;
    this.enter(day.day, hour, this.staff.look(batchId, kindOf(batch.group), look, askedForPhase));
  }

  private ended(day: HouseDay, batch: Batch): void {
    if (this.state.batches.get(batch.id)?.endedAt === undefined)
      this.enter(day.day, 6, { kind: 'batch-ended', batchId: batch.id, reason: 'died' });
  }

  private collection(): Collection {
    return { ...this.state, journalId: this.entryId };
  }

  private parts(day: HouseDay): MorningParts {
    return {
      site: this.site,
      day: day.day,
      collection: this.collection(),
      weather: new Map([[HOUSE, this.weather(day, roundAt(day))]]),
      looksAtMost: this.options.looksAtMost,
    };
  }

  private poured(day: HouseDay, house: MixedHouse, verdicts: ReadonlyMap<string, Verdict>): Drink[] {
    const drinks: Drink[] = [];
    for (const [batchId, verdict] of verdicts) {
      if (verdict.amount === 'none') continue;
      const batch = house.batches.find(({ id }) => id === batchId) as Batch;
      const mlPerMm = CATALOGUE.pots.find(({ id }) => id === 'square-7cm-plastic')?.areaCm2 ?? 45;
      drinks.push({ batch, amount: verdict.amount, mm: verdict.mlPerPot / (mlPerMm / 10) });
      this.enter(day.day, 8, {
        kind: 'watering',
        batchIds: [batchId],
        amount: verdict.amount,
        mlPerPot: verdict.mlPerPot,
        answer: 'as-advised',
        day: day.day,
      });
    }
    return drinks;
  }

  // --- what the sensors tell --------------------------------------------------------------------------------------------

  private hear(day: HouseDay): void {
    const cloth = calendarCloth(day);
    if (cloth !== this.hungShare) this.hungSince = cloth === 0 ? null : day.day;
    this.hungShare = cloth;
    for (const quantity of ['airTempC', 'relHumidityPct', 'ppfdUmol'] as const) {
      const table = this.hours.get(quantity) ?? new Map<number, RollUp>();
      this.hours.set(quantity, table);
      for (const hour of sensorHours(day, quantity, cloth, this.seed)) table.set(hour.startMs, hour);
      const old = Date.parse(`${addDays(day.day, -3)}T00:00:00Z`);
      for (const startMs of table.keys()) if (startMs < old) table.delete(startMs);
    }
    this.climate.push(this.climateOf(day, Date.parse(`${addDays(day.day, 1)}T00:00:00Z`)));
  }

  private weather(day: HouseDay, atMs: number): HouseWeather {
    // By five in the morning the sensors have told of the night.
    for (const quantity of ['airTempC', 'relHumidityPct', 'ppfdUmol'] as const) {
      const table = this.hours.get(quantity) as Map<number, RollUp>;
      for (const hour of sensorHours(day, quantity, 0, this.seed))
        if (hour.startMs < atMs) table.set(hour.startMs, hour);
    }
    return {
      houseId: HOUSE,
      past: this.climate.slice(-DAYS_BACK),
      today: this.climateOf(day, atMs),
      nightOver: isNightOver(frameOf(day), atMs),
      sensorsHeard: 1,
      hung: { transmission: 1 - this.hungShare, since: this.hungSince },
      lastReadingAt: atMs,
    };
  }

  private climateOf(day: HouseDay, untilMs: number): ClimateDay {
    const place = { pressureKPa: atmosphericPressureKPa(this.site.elevationM), fans: true, wetMarginC: 2 };
    return climateDay(frameOf(day), Object.fromEntries(this.hours) as HouseHours, {}, place, untilMs);
  }
}

const roundAt = (day: HouseDay): number => Date.parse(`${day.day}T00:00:00Z`) + ROUND_HOUR * HOUR_MS;

function frameOf(day: HouseDay): ClimateDayFrame {
  const noonMs = civilNoon(ZONE, day.day);
  const half = (day.daylightHours / 2) * HOUR_MS;
  return {
    day: day.day,
    bounds: localDayBounds(ZONE, day.day),
    noonMs,
    noonBeforeMs: civilNoon(ZONE, addDays(day.day, -1)),
    sunriseMs: noonMs - half,
    sunsetMs: noonMs + half,
    alwaysDown: false,
  };
}
