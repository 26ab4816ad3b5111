/**
 * Evaporation of a reference surface: the demand index that pots and plants are scaled against. It stands for 12 cm of
 * grass well supplied with water; a pot of succulents is outside it, so its coefficient must be fitted to weights or
 * moisture. Forms: FAO-56 and ASCE Penman-Monteith, Hargreaves, Priestley-Taylor, and Penman-Monteith under glass.
 */
import {
  atmosphericPressureKPa,
  dailySaturationVapourPressureKPa,
  psychrometricConstantKPaPerC,
  saturationSlopeKPaPerC,
  saturationVapourPressureKPa,
} from './air.js';
import { faoExtraterrestrialDailyMJm2 } from './extraterrestrial.js';
import {
  requireDayExtremes,
  requireFinite,
  requireInRange,
  requireNotNegative,
  requirePositive,
  requireTemperature,
} from './guards.js';
import {
  faoClearSkyMJm2,
  netLongwaveDailyMJm2,
  netShortwaveMJm2,
  radiationFromTemperatureMJm2,
  TEMPERATURE_RADIATION_COEFFICIENT,
} from './radiation.js';
import { energyToWaterMm, LATENT_HEAT_MJ_PER_KG } from './units.js';

/**
 * Reference surfaces: numerator constant Cn and denominator constant Cd of the standardized equation, and the share of
 * net radiation that goes into the soil, by day and by night.
 * Sources: FAO-56 (1998), Eq. 6, 45, 46, 53; ASCE-EWRI (2005), Table 1 and Eq. 65-66.
 */
const SURFACES = {
  fao56: {
    daily: { cn: 900, cd: 0.34 },
    day: { cn: 37, cd: 0.34, soil: 0.1 },
    night: { cn: 37, cd: 0.34, soil: 0.5 },
  },
  'asce-short': {
    daily: { cn: 900, cd: 0.34 },
    day: { cn: 37, cd: 0.24, soil: 0.1 },
    night: { cn: 37, cd: 0.96, soil: 0.5 },
  },
  'asce-tall': {
    daily: { cn: 1600, cd: 0.38 },
    day: { cn: 66, cd: 0.25, soil: 0.04 },
    night: { cn: 66, cd: 1.7, soil: 0.2 },
  },
} as const;

export type ReferenceSurface = keyof typeof SURFACES;

interface StandardizedInput {
  readonly airTempC: number;
  readonly availableEnergyMJm2: number;
  readonly vpdKPa: number;
  readonly windSpeed2mMs: number;
  readonly pressureKPa: number;
}

/** [0.408 D (Rn - G) + g Cn / (T + 273) u2 VPD] / [D + g (1 + Cd u2)], held at 0 from below: dew is not booked. */
function standardizedEtMm(input: StandardizedInput, { cn, cd }: { readonly cn: number; readonly cd: number }): number {
  const slope = saturationSlopeKPaPerC(input.airTempC);
  const gamma = psychrometricConstantKPaPerC(input.pressureKPa);
  const wind = input.windSpeed2mMs;
  const radiationTerm = 0.408 * slope * input.availableEnergyMJm2;
  const vapourTerm = ((gamma * cn) / (input.airTempC + 273)) * wind * input.vpdKPa;
  return Math.max(0, (radiationTerm + vapourTerm) / (slope + gamma * (1 + cd * wind)));
}

/**
 * Wind at 2 m over short grass: u 4.87 / ln(67.8 z - 5.42). Source: FAO-56, Eq. 47. Never valid inside a house.
 * @param windSpeedMs m/s at the height measured, at least 0
 * @param heightM m above ground, 0.5 to 100
 * @returns m/s
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function windSpeedAt2mMs(windSpeedMs: number, heightM: number): number {
  requireNotNegative('windSpeedMs', windSpeedMs, 'm/s');
  requireInRange('heightM', heightM, 'm', 0.5, 100);
  return (windSpeedMs * 4.87) / Math.log(67.8 * heightM - 5.42);
}

/**
 * Heat stored in the soil over a month: 0.07 (T next - T previous), or 0.14 (T this - T previous) when the next month is
 * not known. Source: FAO-56, Eq. 43 and 44.
 * @returns MJ/m²/day
 * @throws PhysicsRangeError for NaN
 */
export function monthlySoilHeatMJm2(
  previousMonthTempC: number,
  later: { readonly nextMonthTempC: number } | { readonly thisMonthTempC: number },
): number {
  requireTemperature('previousMonthTempC', previousMonthTempC);
  if ('nextMonthTempC' in later) {
    return 0.07 * (requireTemperature('nextMonthTempC', later.nextMonthTempC) - previousMonthTempC);
  }
  return 0.14 * (requireTemperature('thisMonthTempC', later.thisMonthTempC) - previousMonthTempC);
}

export interface DailyEtInput {
  readonly airTempMinC: number;
  readonly airTempMaxC: number;
  /** kPa, at least 0. */
  readonly actualVapourPressureKPa: number;
  /** MJ/m²/day. */
  readonly netRadiationMJm2: number;
  /** MJ/m²/day; 0 for a day. */
  readonly soilHeatMJm2?: number;
  /** m/s at 2 m over grass. Below 0.5 m/s the value 0.5 is used (FAO-56, ch. 3; remembered). */
  readonly windSpeed2mMs: number;
  readonly pressureKPa: number;
}

/**
 * Reference evaporation of a day. Source: FAO-56, Eq. 6 ("fao56"); ASCE-EWRI (2005), Eq. 1.
 * Mean temperature is (Tmax + Tmin) / 2, saturation pressure the mean of both extremes.
 * @returns mm/day, at least 0
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function referenceEtDailyMm(input: DailyEtInput, surface: ReferenceSurface = 'fao56'): number {
  const saturation = dailySaturationVapourPressureKPa(input.airTempMinC, input.airTempMaxC);
  requireNotNegative('actualVapourPressureKPa', input.actualVapourPressureKPa, 'kPa');
  requireFinite('netRadiationMJm2', input.netRadiationMJm2, 'MJ/m²/day');
  requireNotNegative('windSpeed2mMs', input.windSpeed2mMs, 'm/s');
  const soilHeat = requireFinite('soilHeatMJm2', input.soilHeatMJm2 ?? 0, 'MJ/m²/day');
  return standardizedEtMm(
    {
      airTempC: (input.airTempMinC + input.airTempMaxC) / 2,
      availableEnergyMJm2: input.netRadiationMJm2 - soilHeat,
      vpdKPa: Math.max(0, saturation - input.actualVapourPressureKPa),
      windSpeed2mMs: Math.max(0.5, input.windSpeed2mMs),
      pressureKPa: input.pressureKPa,
    },
    SURFACES[surface].daily,
  );
}

export interface HourlyEtInput {
  readonly airTempC: number;
  /** kPa, at least 0. */
  readonly actualVapourPressureKPa: number;
  /** MJ/m²/h. Night is where it is negative or zero, as both sources define it. */
  readonly netRadiationMJm2: number;
  /** m/s at 2 m over grass. */
  readonly windSpeed2mMs: number;
  readonly pressureKPa: number;
}

/**
 * Reference evaporation of an hour. Source: FAO-56, Eq. 53 ("fao56", 70 s/m all day); ASCE-EWRI (2005) (50 s/m by day,
 * 200 s/m by night). They differ by 4 % on one hour; the service uses "fao56", so that its hours and days agree.
 * @returns mm/h, at least 0
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function referenceEtHourlyMm(input: HourlyEtInput, surface: ReferenceSurface = 'fao56'): number {
  const saturation = saturationVapourPressureKPa(input.airTempC);
  requireNotNegative('actualVapourPressureKPa', input.actualVapourPressureKPa, 'kPa');
  requireFinite('netRadiationMJm2', input.netRadiationMJm2, 'MJ/m²/h');
  requireNotNegative('windSpeed2mMs', input.windSpeed2mMs, 'm/s');
  const constants = input.netRadiationMJm2 > 0 ? SURFACES[surface].day : SURFACES[surface].night;
  return standardizedEtMm(
    {
      airTempC: input.airTempC,
      availableEnergyMJm2: input.netRadiationMJm2 * (1 - constants.soil),
      vpdKPa: Math.max(0, saturation - input.actualVapourPressureKPa),
      windSpeed2mMs: input.windSpeed2mMs,
      pressureKPa: input.pressureKPa,
    },
    constants,
  );
}

/** Heat that goes into the soil in an hour, MJ/m²/h. Source: FAO-56, Eq. 45-46; ASCE-EWRI (2005), Eq. 65-66. */
export function hourlySoilHeatMJm2(netRadiationMJm2: number, surface: ReferenceSurface = 'fao56'): number {
  requireFinite('netRadiationMJm2', netRadiationMJm2, 'MJ/m²/h');
  const constants = netRadiationMJm2 > 0 ? SURFACES[surface].day : SURFACES[surface].night;
  return netRadiationMJm2 * constants.soil;
}

export interface OutdoorDay {
  readonly latitudeDeg: number;
  readonly elevationM: number;
  /** Local ordinal date, 1-366. */
  readonly dayOfYear: number;
  readonly airTempMinC: number;
  readonly airTempMaxC: number;
  /** kPa; left out: air saturated at the day's minimum (FAO-56, Eq. 48). */
  readonly actualVapourPressureKPa?: number;
  /** MJ/m²/day; left out: from the temperature range (FAO-56, Eq. 50). */
  readonly radiationMJm2?: number;
  /** m/s at 2 m; left out: 2 m/s, the worldwide mean of FAO-56, ch. 3. */
  readonly windSpeed2mMs?: number;
  /** At a coast the temperature range is damped. */
  readonly coastal?: boolean;
}

export interface OutdoorEt {
  readonly et0Mm: number;
  readonly netRadiationMJm2: number;
  /** What was put in place of a measurement: the result is an estimate when this is not empty. */
  readonly assumed: readonly ('humidity' | 'radiation' | 'wind')[];
}

/**
 * Reference evaporation of an outdoor day from what was measured, with the FAO-56 substitutes for what was not.
 * Source: FAO-56, Eq. 6 with Eq. 37-40 and 48-50; Example 20.
 * @throws PhysicsRangeError outside the ranges or for NaN; a missing value is left out, never NaN
 */
export function outdoorReferenceEt(day: OutdoorDay, surface: ReferenceSurface = 'fao56'): OutdoorEt {
  requireDayExtremes(day.airTempMinC, day.airTempMaxC);
  const assumed: ('humidity' | 'radiation' | 'wind')[] = [];
  const orElse = (name: 'humidity' | 'radiation' | 'wind', given: number | undefined, instead: () => number) => {
    if (given !== undefined) return given;
    assumed.push(name);
    return instead();
  };
  const above = faoExtraterrestrialDailyMJm2(day.latitudeDeg, day.dayOfYear);
  const clearSky = faoClearSkyMJm2(above, day.elevationM);
  const vapour = orElse('humidity', day.actualVapourPressureKPa, () => saturationVapourPressureKPa(day.airTempMinC));
  const coefficient = TEMPERATURE_RADIATION_COEFFICIENT[day.coastal === true ? 'coast' : 'inland'];
  const radiation = orElse('radiation', day.radiationMJm2, () =>
    radiationFromTemperatureMJm2(day.airTempMinC, day.airTempMaxC, above, coefficient, clearSky),
  );
  const wind = orElse('wind', day.windSpeed2mMs, () => 2);
  // In the polar night there is no shortwave ratio; half-way cloudiness is taken, as nothing says otherwise.
  const relativeShortwave = clearSky > 0 ? radiation / clearSky : 0.65;
  const netRadiationMJm2 =
    netShortwaveMJm2(radiation) - netLongwaveDailyMJm2(day.airTempMinC, day.airTempMaxC, vapour, relativeShortwave);
  const et0Mm = referenceEtDailyMm(
    {
      airTempMinC: day.airTempMinC,
      airTempMaxC: day.airTempMaxC,
      actualVapourPressureKPa: vapour,
      netRadiationMJm2,
      windSpeed2mMs: wind,
      pressureKPa: atmosphericPressureKPa(day.elevationM),
    },
    surface,
  );
  return { et0Mm, netRadiationMJm2, assumed };
}

/**
 * Reference evaporation from temperatures alone: 0.0023 (Tmean + 17.8) sqrt(Tmax - Tmin) Ra. Source: FAO-56, Eq. 52
 * (Hargreaves & Samani 1985), Ra as mm of water.
 * @param airTempMeanC °C; left undefined the mean of the extremes
 * @returns mm/day, at least 0
 * @throws PhysicsRangeError outside the ranges, for NaN, or when the minimum is above the maximum
 */
export function hargreavesEtMm(
  airTempMinC: number,
  airTempMaxC: number,
  extraterrestrialMJm2: number,
  airTempMeanC: number = (airTempMinC + airTempMaxC) / 2,
): number {
  requireDayExtremes(airTempMinC, airTempMaxC);
  requireTemperature('airTempMeanC', airTempMeanC);
  requireNotNegative('extraterrestrialMJm2', extraterrestrialMJm2, 'MJ/m²/day');
  const range = Math.sqrt(airTempMaxC - airTempMinC);
  return Math.max(0, 0.0023 * (airTempMeanC + 17.8) * range * energyToWaterMm(extraterrestrialMJm2));
}

/** Advection coefficient for a wet surface. Source: Priestley & Taylor (1972), Mon. Wea. Rev. 100:81-92. */
export const PRIESTLEY_TAYLOR_ALPHA = 1.26;

/**
 * Evaporation from energy alone: 1.26 D / (D + g) (Rn - G) / lambda. Source: Priestley & Taylor (1972).
 * Under glass without wind it nearly agrees with Penman-Monteith at 295 s/m, so it is the fallback without humidity.
 * @param airTempC °C
 * @param availableEnergyMJm2 Rn - G in the period, MJ/m²
 * @param pressureKPa kPa, above 0
 * @returns mm in the period, at least 0
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function priestleyTaylorEtMm(airTempC: number, availableEnergyMJm2: number, pressureKPa: number): number {
  requireFinite('availableEnergyMJm2', availableEnergyMJm2, 'MJ/m²');
  const slope = saturationSlopeKPaPerC(airTempC);
  const gamma = psychrometricConstantKPaPerC(pressureKPa);
  return Math.max(0, (PRIESTLEY_TAYLOR_ALPHA * slope * energyToWaterMm(availableEnergyMJm2)) / (slope + gamma));
}

/**
 * Aerodynamic resistance under cover, s/m. "fans": 150, fitted in a plastic greenhouse over grass lysimeters
 * (Fernandez et al. 2010, Irrig. Sci. 28:497-509). "still": 295, later work of the same region (remembered, not seen).
 */
export const AERODYNAMIC_RESISTANCE_SM = { fans: 150, still: 295 } as const;

/** Surface resistance of the reference grass, s/m. Source: FAO-56, ch. 2. */
const GRASS_RESISTANCE_SM = 70;

/** Specific heat of moist air, MJ/kg/°C. Source: FAO-56, Eq. 8. */
const SPECIFIC_HEAT_MJ_PER_KG_C = 1.013e-3;

export interface GlassEtInput {
  /** Mean inside air temperature of the period, °C. */
  readonly airTempC: number;
  /** Mean inside vapour pressure deficit of the period, kPa, at least 0. */
  readonly vpdKPa: number;
  /** Global radiation inside, summed over the period, MJ/m². From a light sum: mol/m² divided by 2.0565. */
  readonly radiationMJm2: number;
  /** True length of the period, s: 3600 for an hour, 82 800 to 90 000 for a local day. */
  readonly periodSeconds: number;
  readonly pressureKPa: number;
  /** s/m; left out: still air. */
  readonly aerodynamicResistanceSm?: number;
  /** 0 to 1; left out: 0.23. */
  readonly albedo?: number;
}

/**
 * Reference evaporation under glass: Penman-Monteith with a fixed aerodynamic resistance, since no wind is measured.
 * lambda ET = [D Rn + t rho cp VPD / ra] / [D + g (1 + rs / ra)], Rn = (1 - albedo) Rs inside, longwave 0 under cover,
 * soil heat 0. Source: FAO-56, Eq. 3 with rho = P / (1.01 (T + 273) 0.287); ra after Fernandez et al. (2010).
 * @returns mm in the period, at least 0
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function glassReferenceEtMm(input: GlassEtInput): number {
  const { airTempC, pressureKPa } = input;
  requireNotNegative('vpdKPa', input.vpdKPa, 'kPa');
  requirePositive('periodSeconds', input.periodSeconds, 's');
  const resistance = requireInRange(
    'aerodynamicResistanceSm',
    input.aerodynamicResistanceSm ?? AERODYNAMIC_RESISTANCE_SM.still,
    's/m',
    10,
    1000,
  );
  const netRadiation = netShortwaveMJm2(input.radiationMJm2, input.albedo);
  const slope = saturationSlopeKPaPerC(airTempC);
  const gamma = psychrometricConstantKPaPerC(pressureKPa);
  const density = pressureKPa / (1.01 * (airTempC + 273) * 0.287);
  const vapourTerm = (input.periodSeconds * density * SPECIFIC_HEAT_MJ_PER_KG_C * input.vpdKPa) / resistance;
  const energy = (slope * netRadiation + vapourTerm) / (slope + gamma * (1 + GRASS_RESISTANCE_SM / resistance));
  return energy / LATENT_HEAT_MJ_PER_KG;
}
