import type { BatchState, Collection } from '../domain/collection.js';
import { defined } from '../domain/optional.js';
import { type LocalDay, localDayOf } from '../domain/time.js';
import type { ClimateDay } from '../models/house-climate.js';
import {
  EXPOSURE_SHARE,
  type Exposure,
  type LightDay,
  lightOver,
  lightWhereItStood,
  type Stay,
} from '../models/light-history.js';
import type { HouseInput, Known, LightHistoryInput } from './fact-inputs.js';
import type { HouseWeather } from './house-weather.js';

interface Morning {
  readonly site: { readonly zone: string };
  readonly day: LocalDay;
  readonly collection: Collection;
  readonly weather: ReadonlyMap<string, HouseWeather>;
}

/** Days the ramp looks back. */
const WEEK = 7;

/** The light a batch has had in the last week, where it stood; undefined where too few days were measured. */
export function lightHistoryOf(batch: BatchState, morning: Morning): LightHistoryInput | undefined {
  const days = [...morning.weather.values()][0]?.past.slice(-WEEK).map(({ day }) => day) ?? [];
  const history = lightWhereItStood(days, staysOf(batch, morning), (houseId, day) => {
    const found = morning.weather.get(houseId)?.past.findLast((past) => past.day === day);
    return found && { light: lightDayOf(found) };
  });
  const mean = lightOver(history, WEEK);
  if (!mean) return undefined;
  const from = 'light where it stood, last 7 days';
  return {
    dli: { value: mean.dli, certainty: mean.certainty, from },
    days: mean.days,
    ...(mean.peakPpfdUmol !== undefined && {
      peakPpfdUmol: { value: mean.peakPpfdUmol, certainty: mean.certainty, from },
    }),
  };
}

/** The house as a bench has it: light measured and light ahead, both by the share that reaches the bench. */
export function houseAtBench(house: HouseInput, exposure: Exposure): HouseInput {
  const share = EXPOSURE_SHARE[exposure];
  if (share === 1) return house;
  const less = (light: Known<number> | undefined) => light && { ...light, value: light.value * share };
  const all = (light: readonly number[] | undefined) => light?.map((value) => value * share);
  const { recent, ahead } = house;
  return {
    ...house,
    recent: { ...recent, ...defined({ dli: less(recent.dli), peakPpfdUmol: less(recent.peakPpfdUmol) }) },
    ahead: { ...ahead, ...defined({ dli: all(ahead.dli), peakPpfdUmol: all(ahead.peakPpfdUmol) }) },
  };
}

const lightDayOf = (day: ClimateDay): LightDay => ({
  day: day.day,
  ...(day.dli && { dli: day.dli.value }),
  ...(day.peakPpfdUmol && { peakPpfdUmol: day.peakPpfdUmol.value }),
});

function staysOf(batch: BatchState, morning: Morning): Stay[] {
  return batch.places.flatMap(({ benchId, from }) => {
    const bench = morning.collection.benches.get(benchId);
    return bench
      ? [{ from: localDayOf(morning.site.zone, from), houseId: bench.houseId, exposure: bench.exposure }]
      : [];
  });
}
