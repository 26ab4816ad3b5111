/**
 * Humid air. One saturation formula serves the whole service: FAO-56 Eq. 11, which the FAO-56 evaporation forms need and
 * which lies within 0.13 % of IAPWS-95 from 0 to 50 °C. Relative humidity is over liquid water at every temperature, as
 * weather services and capacitive sensors report it, so below 0 °C these are supercooled-water values.
 */
import {
  requireDayExtremes,
  requireInRange,
  requireNotNegative,
  requirePositive,
  requireRelHumidity,
  requireTemperature,
} from './guards.js';

/** Standard pressure at sea level, kPa. Source: FAO-56 (1998), Eq. 7 (its rounded value, not 101.325). */
export const SEA_LEVEL_PRESSURE_KPA = 101.3;

/** Ratio of the molar masses of water and dry air. Source: ASHRAE Handbook Fundamentals (2017), ch. 1, Eq. 20. */
const MOLAR_MASS_RATIO = 0.621945;

/**
 * Saturation vapour pressure over water.
 * e0 = 0.6108 exp(17.27 T / (T + 237.3)). Source: FAO-56 (1998), Eq. 11 (Tetens).
 * @param airTempC °C, -60 to 100; within 0.13 % of IAPWS-95 from 0 to 50 °C
 * @returns kPa
 * @throws PhysicsRangeError outside the range or for NaN
 */
export function saturationVapourPressureKPa(airTempC: number): number {
  requireTemperature('airTempC', airTempC);
  return 0.6108 * Math.exp((17.27 * airTempC) / (airTempC + 237.3));
}

/**
 * Slope of the saturation curve. Source: FAO-56, Eq. 13: 4098 e0 / (T + 237.3)².
 * @param airTempC °C, -60 to 100
 * @returns kPa/°C
 * @throws PhysicsRangeError outside the range or for NaN
 */
export function saturationSlopeKPaPerC(airTempC: number): number {
  return (4098 * saturationVapourPressureKPa(airTempC)) / (airTempC + 237.3) ** 2;
}

/**
 * Vapour pressure of air from its relative humidity: e0(T) RH / 100. Source: FAO-56, Eq. 10 solved for ea.
 * @param airTempC °C, -60 to 100
 * @param relHumidityPct % over water, 0 to 100
 * @returns kPa
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function vapourPressureKPa(airTempC: number, relHumidityPct: number): number {
  requireRelHumidity(relHumidityPct);
  return (saturationVapourPressureKPa(airTempC) * relHumidityPct) / 100;
}

/**
 * Relative humidity from vapour pressure. Source: FAO-56, Eq. 10. Air holding more than saturation gives 100.
 * @param airTempC °C, -60 to 100
 * @param actualVapourPressureKPa kPa, at least 0
 * @returns %, 0 to 100
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function relHumidityPctFromVapourPressure(airTempC: number, actualVapourPressureKPa: number): number {
  requireNotNegative('actualVapourPressureKPa', actualVapourPressureKPa, 'kPa');
  return Math.min(100, (100 * actualVapourPressureKPa) / saturationVapourPressureKPa(airTempC));
}

/**
 * Humidity as a sensor shows it, brought into 0 to 100 %.
 * Capacitive sensors commonly read 100 to 102 % in saturated air (common practice, no published source for the limit of
 * 105 %, above which the sensor is taken to be at fault).
 * @param sensorRelHumidityPct %, 0 to 105
 * @returns %, 0 to 100
 * @throws PhysicsRangeError outside 0 to 105 or for NaN
 */
export function clampSensorRelHumidityPct(sensorRelHumidityPct: number): number {
  return Math.min(100, requireInRange('sensorRelHumidityPct', sensorRelHumidityPct, '%', 0, 105));
}

/**
 * Vapour pressure deficit at one moment: e0(T) (1 - RH / 100). Definition.
 * @param airTempC °C, -60 to 100
 * @param relHumidityPct % over water, 0 to 100
 * @returns kPa
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function vpdKPa(airTempC: number, relHumidityPct: number): number {
  requireRelHumidity(relHumidityPct);
  return saturationVapourPressureKPa(airTempC) * (1 - relHumidityPct / 100);
}

/**
 * Mean saturation pressure of a day: (e0(Tmax) + e0(Tmin)) / 2. Source: FAO-56, Eq. 12. Never e0 of the mean temperature.
 * @param airTempMinC °C
 * @param airTempMaxC °C, at least the minimum
 * @returns kPa
 * @throws PhysicsRangeError outside the ranges, for NaN, or when the minimum is above the maximum
 */
export function dailySaturationVapourPressureKPa(airTempMinC: number, airTempMaxC: number): number {
  requireDayExtremes(airTempMinC, airTempMaxC);
  return (saturationVapourPressureKPa(airTempMaxC) + saturationVapourPressureKPa(airTempMinC)) / 2;
}

/**
 * Vapour pressure of a day from the extremes of temperature and humidity. Source: FAO-56, Eq. 17.
 * @param airTempMinC °C
 * @param airTempMaxC °C, at least the minimum
 * @param relHumidityMinPct %, 0 to 100, reached at the warmest hour
 * @param relHumidityMaxPct %, 0 to 100, reached at the coldest hour
 * @returns kPa
 * @throws PhysicsRangeError outside the ranges, for NaN, or when a minimum is above its maximum
 */
export function dailyVapourPressureKPa(
  airTempMinC: number,
  airTempMaxC: number,
  relHumidityMinPct: number,
  relHumidityMaxPct: number,
): number {
  requireDayExtremes(airTempMinC, airTempMaxC);
  requireRelHumidity(relHumidityMinPct);
  requireInRange('relHumidityMaxPct', relHumidityMaxPct, '%', relHumidityMinPct, 100);
  return (vapourPressureKPa(airTempMinC, relHumidityMaxPct) + vapourPressureKPa(airTempMaxC, relHumidityMinPct)) / 2;
}

/**
 * Vapour pressure of a day when only the highest humidity is trusted. Source: FAO-56, Eq. 18: e0(Tmin) RHmax / 100.
 * @param airTempMinC °C
 * @param relHumidityMaxPct %, 0 to 100
 * @returns kPa
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function dailyVapourPressureFromMaxHumidityKPa(airTempMinC: number, relHumidityMaxPct: number): number {
  return vapourPressureKPa(airTempMinC, relHumidityMaxPct);
}

/**
 * Vapour pressure of a day from its mean humidity. Source: FAO-56, Eq. 19: RHmean / 100 (e0(Tmax) + e0(Tmin)) / 2.
 * @param airTempMinC °C
 * @param airTempMaxC °C, at least the minimum
 * @param relHumidityMeanPct %, 0 to 100
 * @returns kPa
 * @throws PhysicsRangeError outside the ranges, for NaN, or when the minimum is above the maximum
 */
export function dailyVapourPressureFromMeanHumidityKPa(
  airTempMinC: number,
  airTempMaxC: number,
  relHumidityMeanPct: number,
): number {
  requireRelHumidity(relHumidityMeanPct);
  return (dailySaturationVapourPressureKPa(airTempMinC, airTempMaxC) * relHumidityMeanPct) / 100;
}

/**
 * Vapour pressure deficit of a day: es - ea. Source: FAO-56, Eq. 12 and 17, Example 6. Held at 0 when ea exceeds es.
 * @param airTempMinC °C
 * @param airTempMaxC °C, at least the minimum
 * @param actualVapourPressureKPa kPa, at least 0
 * @returns kPa
 * @throws PhysicsRangeError outside the ranges, for NaN, or when the minimum is above the maximum
 */
export function dailyVpdKPa(airTempMinC: number, airTempMaxC: number, actualVapourPressureKPa: number): number {
  requireNotNegative('actualVapourPressureKPa', actualVapourPressureKPa, 'kPa');
  return Math.max(0, dailySaturationVapourPressureKPa(airTempMinC, airTempMaxC) - actualVapourPressureKPa);
}

/**
 * Dew point of air holding a given vapour pressure: the exact inverse of FAO-56 Eq. 11 (Lawrence 2005 gives the form).
 * Over water, also below 0 °C.
 * @param actualVapourPressureKPa kPa, above 0
 * @returns °C; within 0.02 °C of IAPWS-95 from 0 to 45 °C
 * @throws PhysicsRangeError at or below 0, or for NaN
 */
export function dewPointFromVapourPressureC(actualVapourPressureKPa: number): number {
  requirePositive('actualVapourPressureKPa', actualVapourPressureKPa, 'kPa');
  const logRatio = Math.log(actualVapourPressureKPa / 0.6108);
  return (237.3 * logRatio) / (17.27 - logRatio);
}

/**
 * Dew point. Source: Lawrence (2005), Bull. Amer. Meteor. Soc. 86:225-233, Eq. 8, with the coefficients of FAO-56 Eq. 11.
 * @param airTempC °C, -60 to 100
 * @param relHumidityPct % over water, above 0 to 100; perfectly dry air has no dew point
 * @returns °C, at most the air temperature
 * @throws PhysicsRangeError outside the ranges, at 0 %, or for NaN
 */
export function dewPointC(airTempC: number, relHumidityPct: number): number {
  requireInRange('relHumidityPct', relHumidityPct, '%', Number.MIN_VALUE, 100);
  if (relHumidityPct === 100) return requireTemperature('airTempC', airTempC);
  return Math.min(airTempC, dewPointFromVapourPressureC(vapourPressureKPa(airTempC, relHumidityPct)));
}

/**
 * How far the air is from condensing: air temperature minus dew point. Definition.
 * @param airTempC °C, -60 to 100
 * @param relHumidityPct % over water, above 0 to 100
 * @returns °C difference, at least 0
 * @throws PhysicsRangeError as for the dew point
 */
export function dewPointMarginC(airTempC: number, relHumidityPct: number): number {
  return airTempC - dewPointC(airTempC, relHumidityPct);
}

/**
 * Humidity ratio: 0.621945 e / (P - e). Source: ASHRAE Fundamentals (2017), ch. 1, Eq. 20.
 * @param actualVapourPressureKPa kPa, at least 0 and below the pressure
 * @param pressureKPa kPa, above 0
 * @returns kg water per kg dry air
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function humidityRatio(actualVapourPressureKPa: number, pressureKPa: number): number {
  requirePositive('pressureKPa', pressureKPa, 'kPa');
  requireInRange('actualVapourPressureKPa', actualVapourPressureKPa, 'kPa', 0, pressureKPa * (1 - Number.EPSILON));
  return (MOLAR_MASS_RATIO * actualVapourPressureKPa) / (pressureKPa - actualVapourPressureKPa);
}

/**
 * Vapour pressure of air with a given humidity ratio: W P / (0.621945 + W). Inverse of ASHRAE Eq. 20.
 * @param humidityRatioKgKg kg/kg, at least 0
 * @param pressureKPa kPa, above 0
 * @returns kPa
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function vapourPressureFromHumidityRatioKPa(humidityRatioKgKg: number, pressureKPa: number): number {
  requireNotNegative('humidityRatioKgKg', humidityRatioKgKg, 'kg/kg');
  requirePositive('pressureKPa', pressureKPa, 'kPa');
  return (humidityRatioKgKg * pressureKPa) / (MOLAR_MASS_RATIO + humidityRatioKgKg);
}

/**
 * Humidity ratio from dry and wet bulb, wet bulb over water:
 * W = ((2501 - 2.326 Tw) Ws(Tw) - 1.006 (T - Tw)) / (2501 + 1.86 T - 4.186 Tw). Source: ASHRAE (2017), ch. 1, Eq. 33.
 * @param airTempC °C
 * @param wetBulbTempC °C, at most the air temperature
 * @param pressureKPa kPa, above 0
 * @returns kg/kg; negative values, which mean air drier than dry, are held at 0
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function humidityRatioFromWetBulb(airTempC: number, wetBulbTempC: number, pressureKPa: number): number {
  requireTemperature('airTempC', airTempC);
  requireInRange('wetBulbTempC', wetBulbTempC, '°C', -60, airTempC);
  const saturated = humidityRatio(saturationVapourPressureKPa(wetBulbTempC), pressureKPa);
  const numerator = (2501 - 2.326 * wetBulbTempC) * saturated - 1.006 * (airTempC - wetBulbTempC);
  return Math.max(0, numerator / (2501 + 1.86 * airTempC - 4.186 * wetBulbTempC));
}

/**
 * Thermodynamic wet-bulb temperature: ASHRAE Eq. 33 solved by bisection between dew point and air temperature.
 * Closed forms such as Stull (2011) are up to 0.8 °C off. The wet surface is liquid water; an iced wick below 0 °C reads
 * up to a few tenths higher.
 * @param airTempC °C, -60 to 60
 * @param relHumidityPct % over water, above 0 to 100
 * @param pressureKPa kPa, 40 to 110
 * @returns °C, between dew point and air temperature, to 0.001 °C
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function wetBulbC(airTempC: number, relHumidityPct: number, pressureKPa: number): number {
  requireInRange('airTempC', airTempC, '°C', -60, 60);
  requireInRange('pressureKPa', pressureKPa, 'kPa', 40, 110);
  const target = humidityRatio(vapourPressureKPa(airTempC, relHumidityPct), pressureKPa);
  let low = Math.max(-60, dewPointC(airTempC, relHumidityPct));
  let high = airTempC;
  while (high - low > 0.001) {
    const middle = (low + high) / 2;
    if (humidityRatioFromWetBulb(airTempC, middle, pressureKPa) > target) high = middle;
    else low = middle;
  }
  return (low + high) / 2;
}

/**
 * Vapour pressure from a psychrometer: e0(Tw) - a P (T - Tw). Source: FAO-56, Eq. 15 and 16.
 * @param airTempC dry bulb, °C
 * @param wetBulbTempC °C, at most the dry bulb
 * @param pressureKPa kPa, above 0
 * @param coefficientPerC 0.000662 aspirated, 0.000800 naturally ventilated, 0.001200 indoors without ventilation
 * @returns kPa, held at 0 from below
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function vapourPressureFromPsychrometerKPa(
  airTempC: number,
  wetBulbTempC: number,
  pressureKPa: number,
  coefficientPerC: number,
): number {
  requireTemperature('airTempC', airTempC);
  requireInRange('wetBulbTempC', wetBulbTempC, '°C', -60, airTempC);
  requirePositive('pressureKPa', pressureKPa, 'kPa');
  requirePositive('coefficientPerC', coefficientPerC, '1/°C');
  const depression = airTempC - wetBulbTempC;
  return Math.max(0, saturationVapourPressureKPa(wetBulbTempC) - coefficientPerC * pressureKPa * depression);
}

/**
 * Enthalpy of moist air: 1.006 T + W (2501 + 1.86 T). Source: ASHRAE (2017), ch. 1, Eq. 30.
 * @param airTempC °C
 * @param humidityRatioKgKg kg/kg, at least 0
 * @returns kJ per kg dry air
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function enthalpyKJPerKg(airTempC: number, humidityRatioKgKg: number): number {
  requireTemperature('airTempC', airTempC);
  requireNotNegative('humidityRatioKgKg', humidityRatioKgKg, 'kg/kg');
  return 1.006 * airTempC + humidityRatioKgKg * (2501 + 1.86 * airTempC);
}

/**
 * Volume of moist air: 0.287042 (T + 273.15) (1 + 1.607858 W) / P. Source: ASHRAE (2017), ch. 1, Eq. 26.
 * @param airTempC °C
 * @param humidityRatioKgKg kg/kg, at least 0
 * @param pressureKPa kPa, above 0
 * @returns m³ per kg dry air
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function specificVolumeM3PerKg(airTempC: number, humidityRatioKgKg: number, pressureKPa: number): number {
  requireTemperature('airTempC', airTempC);
  requireNotNegative('humidityRatioKgKg', humidityRatioKgKg, 'kg/kg');
  requirePositive('pressureKPa', pressureKPa, 'kPa');
  return (0.287042 * (airTempC + 273.15) * (1 + 1.607858 * humidityRatioKgKg)) / pressureKPa;
}

/**
 * Density of moist air: (1 + W) / v. Source: ASHRAE (2017), ch. 1, Eq. 11.
 * @param airTempC °C
 * @param humidityRatioKgKg kg/kg, at least 0
 * @param pressureKPa kPa, above 0
 * @returns kg moist air per m³
 * @throws PhysicsRangeError outside the ranges or for NaN
 */
export function moistAirDensityKgPerM3(airTempC: number, humidityRatioKgKg: number, pressureKPa: number): number {
  return (1 + humidityRatioKgKg) / specificVolumeM3PerKg(airTempC, humidityRatioKgKg, pressureKPa);
}

/**
 * Atmospheric pressure from elevation: 101.3 ((293 - 0.0065 z) / 293)^5.26. Source: FAO-56, Eq. 7.
 * A simplified lapse rate: 0.15 kPa above the ICAO standard atmosphere at 1 km, 0.4 kPa at 3 km.
 * @param elevationM m above sea level, -500 to 4000
 * @returns kPa
 * @throws PhysicsRangeError outside the range or for NaN
 */
export function atmosphericPressureKPa(elevationM: number): number {
  requireInRange('elevationM', elevationM, 'm', -500, 4000);
  return SEA_LEVEL_PRESSURE_KPA * ((293 - 0.0065 * elevationM) / 293) ** 5.26;
}

/**
 * Psychrometric constant: 0.000665 P. Source: FAO-56, Eq. 8.
 * @param pressureKPa kPa, above 0
 * @returns kPa/°C
 * @throws PhysicsRangeError outside the range or for NaN
 */
export function psychrometricConstantKPaPerC(pressureKPa: number): number {
  requirePositive('pressureKPa', pressureKPa, 'kPa');
  return 0.000665 * pressureKPa;
}
