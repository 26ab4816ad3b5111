import * as air from '../../../src/science/air.js';
import * as crop from '../../../src/science/dual-crop.js';
import * as et from '../../../src/science/evaporation.js';
import * as extra from '../../../src/science/extraterrestrial.js';
import * as rad from '../../../src/science/radiation.js';
import { toDegrees } from '../../../src/science/units.js';
import type { Computations, Inputs } from './entries.js';

/** A day whose radiation comes from sunshine hours: FAO-56 Examples 17 and 18, every intermediate. */
function sunshineDay(inputs: Inputs, vapour: number, wind: number, soilHeat: number) {
  const { tmin_C, tmax_C, latitude_deg, dayOfYear, elevation_m } = inputs;
  const above = extra.faoExtraterrestrialDailyMJm2(latitude_deg, dayOfYear);
  const daylight = extra.faoDaylightHours(latitude_deg, dayOfYear);
  const radiation = rad.radiationFromSunshineMJm2(inputs.sunshine_h, daylight, above);
  const clearSky = rad.faoClearSkyMJm2(above, elevation_m);
  const longwave = rad.netLongwaveDailyMJm2(tmin_C, tmax_C, vapour, radiation / clearSky);
  const shortwave = rad.netShortwaveMJm2(radiation);
  const pressureKPa = air.atmosphericPressureKPa(elevation_m);
  return {
    wind2m_m_s: wind,
    pressure_kPa: pressureKPa,
    slope_kPa_per_C: air.saturationSlopeKPaPerC((tmin_C + tmax_C) / 2),
    gamma_kPa_per_C: air.psychrometricConstantKPaPerC(pressureKPa),
    es_kPa: air.dailySaturationVapourPressureKPa(tmin_C, tmax_C),
    ea_kPa: vapour,
    vpd_kPa: air.dailyVpdKPa(tmin_C, tmax_C, vapour),
    ra_MJ_m2_day: above,
    daylight_h: daylight,
    rs_MJ_m2_day: radiation,
    rso_MJ_m2_day: clearSky,
    rns_MJ_m2_day: shortwave,
    rnl_MJ_m2_day: longwave,
    rn_MJ_m2_day: shortwave - longwave,
    g_MJ_m2_day: soilHeat,
    et0_mm_day: et.referenceEtDailyMm({
      airTempMinC: tmin_C,
      airTempMaxC: tmax_C,
      actualVapourPressureKPa: vapour,
      netRadiationMJm2: shortwave - longwave,
      soilHeatMJm2: soilHeat,
      windSpeed2mMs: wind,
      pressureKPa,
    }),
  };
}

/** An hour of FAO-56 Example 19. By night the ratio of the hours before sunset is given. */
function senegalHour(inputs: Inputs) {
  const { temp_C, dayOfYear, latitude_deg, elevation_m } = inputs;
  const longitudeDeg = -inputs.longitude_degW;
  // The clock of the example runs on the meridian given, which lies west.
  const midUtcHours = inputs.clockMid_h + inputs.zoneMeridian_degW / 15;
  const omega = extra.faoHourAngleRad(midUtcHours, longitudeDeg, dayOfYear);
  const above = extra.faoExtraterrestrialPeriodMJm2(latitude_deg, dayOfYear, omega, 1);
  const clearSky = rad.faoClearSkyMJm2(above, elevation_m);
  const relative = inputs.nightRsOverRso ?? inputs.rs_MJ_m2_h / clearSky;
  const vapour = air.vapourPressureKPa(temp_C, inputs.rh_pct);
  const shortwave = rad.netShortwaveMJm2(inputs.rs_MJ_m2_h);
  const longwave = rad.netLongwaveHourlyMJm2(temp_C, vapour, relative);
  const pressureKPa = air.atmosphericPressureKPa(elevation_m);
  return {
    seasonalCorrection_h: extra.faoSeasonalTimeCorrectionHours(dayOfYear),
    omega_rad: omega,
    omega1_rad: omega - Math.PI / 24,
    omega2_rad: omega + Math.PI / 24,
    slope_kPa_per_C: air.saturationSlopeKPaPerC(temp_C),
    gamma_kPa_per_C: air.psychrometricConstantKPaPerC(pressureKPa),
    e0_kPa: air.saturationVapourPressureKPa(temp_C),
    ea_kPa: vapour,
    ra_MJ_m2_h: above,
    rso_MJ_m2_h: clearSky,
    rsOverRso: relative,
    rns_MJ_m2_h: shortwave,
    rnl_MJ_m2_h: longwave,
    rn_MJ_m2_h: shortwave - longwave,
    g_MJ_m2_h: et.hourlySoilHeatMJm2(shortwave - longwave),
    et0_mm_h: et.referenceEtHourlyMm({
      airTempC: temp_C,
      actualVapourPressureKPa: vapour,
      netRadiationMJm2: shortwave - longwave,
      windSpeed2mMs: inputs.wind2m_m_s,
      pressureKPa,
    }),
  };
}

/** A day of the ASCE examples with either clear-sky form. */
function asceDay(inputs: Inputs, vapour: number) {
  const { tmin_C, tmax_C, latitude_deg, dayOfYear, elevation_m } = inputs;
  const above = extra.faoExtraterrestrialDailyMJm2(latitude_deg, dayOfYear);
  const pressureKPa = air.atmosphericPressureKPa(elevation_m);
  const wind = et.windSpeedAt2mMs(inputs.windAt3m_m_s, 3);
  const simple = rad.faoClearSkyMJm2(above, elevation_m);
  const full = rad.asceClearSkyMJm2(above, rad.asceDailySinAltitude(latitude_deg, dayOfYear), vapour, pressureKPa);
  const etWith = (clearSky: number, surface: et.ReferenceSurface) =>
    et.referenceEtDailyMm(
      {
        airTempMinC: tmin_C,
        airTempMaxC: tmax_C,
        actualVapourPressureKPa: vapour,
        netRadiationMJm2:
          rad.netShortwaveMJm2(inputs.rs_MJ_m2_day) -
          rad.netLongwaveDailyMJm2(tmin_C, tmax_C, vapour, inputs.rs_MJ_m2_day / clearSky),
        windSpeed2mMs: wind,
        pressureKPa,
      },
      surface,
    );
  return {
    ea_kPa: vapour,
    es_kPa: air.dailySaturationVapourPressureKPa(tmin_C, tmax_C),
    pressure_kPa: pressureKPa,
    ra_MJ_m2_day: above,
    rsoSimple_MJ_m2_day: simple,
    wind2m_m_s: wind,
    etoShort_mm_day: etWith(simple, 'asce-short'),
    etrTall_mm_day: etWith(simple, 'asce-tall'),
    etrTall_simpleRso_mm_day: etWith(simple, 'asce-tall'),
    etoShort_fullRso_mm_day: etWith(full, 'asce-short'),
    etrTall_fullRso_mm_day: etWith(full, 'asce-tall'),
  };
}

const fallonHour = (inputs: Inputs) => {
  const { tmean_C, latitude_deg, dayOfYear } = inputs;
  const vapour = air.saturationVapourPressureKPa(inputs.tdew_C);
  const pressureKPa = air.atmosphericPressureKPa(inputs.elevation_m);
  const omega = extra.faoHourAngleRad(inputs.hourStart_utc_h + 0.5, inputs.longitude_degE, dayOfYear);
  const above = extra.faoExtraterrestrialPeriodMJm2(latitude_deg, dayOfYear, omega, 1);
  const latitude = (latitude_deg * Math.PI) / 180;
  const declination = extra.faoDeclinationRad(dayOfYear);
  const sinAltitude =
    Math.sin(latitude) * Math.sin(declination) + Math.cos(latitude) * Math.cos(declination) * Math.cos(omega);
  const relative = inputs.rs_MJ_m2_h / rad.asceClearSkyMJm2(above, sinAltitude, vapour, pressureKPa);
  const netRadiationMJm2 =
    rad.netShortwaveMJm2(inputs.rs_MJ_m2_h) - rad.netLongwaveHourlyMJm2(tmean_C, vapour, relative);
  const hour = {
    airTempC: tmean_C,
    actualVapourPressureKPa: vapour,
    netRadiationMJm2,
    windSpeed2mMs: et.windSpeedAt2mMs(inputs.windAt3m_m_s, 3),
    pressureKPa,
  };
  return {
    ea_kPa: vapour,
    es_kPa: air.saturationVapourPressureKPa(tmean_C),
    ra_MJ_m2_h: above,
    rn_MJ_m2_h: netRadiationMJm2,
    fcd: rad.cloudinessFactor(relative),
    etoShort_mm_h: et.referenceEtHourlyMm(hour, 'asce-short'),
    etrTall_mm_h: et.referenceEtHourlyMm(hour, 'asce-tall'),
  };
};

/** FAO-56 Examples 32 to 34: one field wetted in three ways. */
const wettedField = (inputs: Inputs) => {
  const kcmax = crop.maximumCropCoefficient(inputs.kcb, inputs.wind2m_m_s, inputs.rhmin_pct, inputs.height_m);
  const fc = inputs.fc ?? crop.coveredFraction(inputs.kcb, kcmax, inputs.height_m, inputs.kcmin);
  const fw = inputs.fw ?? crop.dripWettedFraction(inputs.fw_table20, fc);
  const few = crop.exposedWettedFraction(fc, fw);
  const ke = crop.evaporationCoefficient(inputs.kr, kcmax, inputs.kcb, few);
  const kc = inputs.kcb + ke;
  return { kcmax, fc, fw_effective: fw, few, ke, kc, etc_mm_day: kc * inputs.et0_mm_day };
};

const surfaceLayer = (inputs: Inputs) => {
  const kcmax = crop.maximumCropCoefficient(0.3, inputs.wind2m_m_s, inputs.rhmin_pct, inputs.height_m);
  let depletionMm = inputs.deInitial_mm;
  const days = inputs.et0_mm_day.map((referenceEtMm: number, day: number) => {
    const result = crop.evaporationLayerDay({
      depletionMm,
      wettingMm: inputs.rainMinusRunoff_mm[day] + inputs.irrigationOverFw_mm[day],
      referenceEtMm,
      maximumCoefficient: kcmax,
      basalCoefficient: inputs.kcb[day],
      exposedWetted: inputs.few[day],
      totalEvaporableMm: inputs.tew_mm,
      readilyEvaporableMm: inputs.rew_mm,
    });
    depletionMm = result.depletionEndMm;
    return { ...result, etc: (inputs.kcb[day] + result.coefficient) * referenceEtMm };
  }) as (crop.EvaporationDayResult & { etc: number })[];
  return {
    kcmax,
    deStart_mm: days.map((day) => day.depletionAfterWettingMm),
    kr: days.map((day) => day.reduction),
    ke: days.map((day) => day.coefficient),
    evapOverFew_mm: days.map((day) => day.evaporationMm),
    deEnd_mm: days.map((day) => day.depletionEndMm),
    deepPercolation_day1_mm: days[0]?.drainageMm,
    etc_mm: days.map((day) => day.etc),
  };
};

const rootZone = ({ taw_mm, p, drInitial_mm, etc_mm_day, days }: Inputs) => {
  const result = { raw_mm: crop.readilyAvailableWaterMm(taw_mm, p), ks: [], etcAdj_mm: [], drEnd_mm: [] } as {
    raw_mm: number;
    ks: number[];
    etcAdj_mm: number[];
    drEnd_mm: number[];
  };
  let depletion = drInitial_mm;
  for (let day = 0; day < days; day += 1) {
    const ks = crop.waterStressCoefficient(depletion, taw_mm, p);
    depletion += ks * etc_mm_day;
    result.ks.push(ks);
    result.etcAdj_mm.push(ks * etc_mm_day);
    result.drEnd_mm.push(depletion);
  }
  return result;
};

export const evaporationComputations: Computations = {
  'fao56-ex11-rnl': (inputs) => ({
    rnl_MJ_m2_day: rad.netLongwaveDailyMJm2(
      inputs.tmin_C,
      inputs.tmax_C,
      inputs.ea_kPa,
      inputs.rs_MJ_m2_day / inputs.rso_MJ_m2_day,
    ),
  }),
  'fao56-ex12-rn': ({ rs_MJ_m2_day, albedo, rnl_MJ_m2_day }) => {
    const shortwave = rad.netShortwaveMJm2(rs_MJ_m2_day, albedo);
    return { rns_MJ_m2_day: shortwave, rn_MJ_m2_day: shortwave - rnl_MJ_m2_day };
  },
  'fao56-ex13-soil-heat': ({ tPrevMonth_C, tNextMonth_C }) => {
    const soilHeat = et.monthlySoilHeatMJm2(tPrevMonth_C, { nextMonthTempC: tNextMonth_C });
    return { g_MJ_m2_day: soilHeat, g_mm_day: 0.408 * soilHeat };
  },
  'fao56-ex14-wind-2m': ({ wind_m_s, height_m }) => ({
    wind2m_m_s: et.windSpeedAt2mMs(wind_m_s, height_m),
    factor: et.windSpeedAt2mMs(1, height_m),
  }),
  'fao56-ex17-monthly-bangkok': (inputs) =>
    sunshineDay(
      inputs,
      inputs.ea_kPa,
      inputs.wind2m_m_s,
      et.monthlySoilHeatMJm2(inputs.tPrevMonth_C, { thisMonthTempC: inputs.tMonth_C }),
    ),
  'fao56-ex18-daily-uccle': (inputs) =>
    sunshineDay(
      inputs,
      air.dailyVapourPressureKPa(inputs.tmin_C, inputs.tmax_C, inputs.rhmin_pct, inputs.rhmax_pct),
      et.windSpeedAt2mMs(inputs.wind10m_km_h / 3.6, 10),
      0,
    ),
  'fao56-ex19-hourly-14h': senegalHour,
  'fao56-ex19-hourly-02h-night': senegalHour,
  'fao56-ex20-missing-data-lyon': (inputs) => {
    const { tmin_C, tmax_C, latitude_deg, dayOfYear, elevation_m } = inputs;
    const above = extra.faoExtraterrestrialDailyMJm2(latitude_deg, dayOfYear);
    const vapour = air.saturationVapourPressureKPa(inputs.assumedTdew_C);
    return {
      ra_MJ_m2_day: above,
      rs_MJ_m2_day: rad.radiationFromTemperatureMJm2(tmin_C, tmax_C, above, inputs.kRs),
      ea_kPa: vapour,
      es_kPa: air.dailySaturationVapourPressureKPa(tmin_C, tmax_C),
      vpd_kPa: air.dailyVpdKPa(tmin_C, tmax_C, vapour),
      et0_mm_day: et.outdoorReferenceEt({
        latitudeDeg: latitude_deg,
        elevationM: elevation_m,
        dayOfYear,
        airTempMinC: tmin_C,
        airTempMaxC: tmax_C,
      }).et0Mm,
    };
  },
  'fao56-eq52-hargreaves-lyon': ({ latitude_deg, dayOfYear, tmin_C, tmax_C }) => ({
    et0_mm_day: et.hargreavesEtMm(tmin_C, tmax_C, extra.faoExtraterrestrialDailyMJm2(latitude_deg, dayOfYear)),
  }),
  'hargreaves-mehta-2006': ({ tmin_C, tmax_C, tmean_C, ra_MJ_m2_day }) => ({
    et0_mm_day: et.hargreavesEtMm(tmin_C, tmax_C, ra_MJ_m2_day, tmean_C),
  }),
  'fao56-ex32-dualkc-sprinkler': wettedField,
  'fao56-ex33-dualkc-furrow': wettedField,
  'fao56-ex34-dualkc-drip': wettedField,
  'fao56-ex35-evaporation-layer-10day': surfaceLayer,
  'fao56-eq72-kcmax-grid': ({ cases_u2_rhmin_h, kcb }) => ({
    kcmax: cases_u2_rhmin_h.map(([wind, humidity, height]: [number, number, number]) =>
      crop.maximumCropCoefficient(kcb, wind, humidity, height),
    ),
  }),
  'fao56-eq73-tew': (inputs) => ({
    tew_mm: crop.totalEvaporableWaterMm(inputs.thetaFC_m3_m3, inputs.thetaWP_m3_m3, inputs.ze_m),
  }),
  'fao56-eq84-water-stress': rootZone,
  'fao56-kent-town-10day': (inputs) => ({
    et0_mm_day: inputs.dayOfYear.map(
      (dayOfYear: number, day: number) =>
        et.outdoorReferenceEt({
          latitudeDeg: toDegrees(inputs.latitude_rad),
          elevationM: inputs.elevation_m,
          dayOfYear,
          airTempMinC: inputs.tmin_C[day],
          airTempMaxC: inputs.tmax_C[day],
          actualVapourPressureKPa: air.dailyVapourPressureKPa(
            inputs.tmin_C[day],
            inputs.tmax_C[day],
            inputs.rhmin_pct[day],
            inputs.rhmax_pct[day],
          ),
          radiationMJm2: inputs.rs_MJ_m2_day[day],
          windSpeed2mMs: et.windSpeedAt2mMs(inputs.wind10m_m_s[day], 10),
        }).et0Mm,
    ),
  }),
  'asce-fallon-daily-20150701': (inputs) => asceDay(inputs, air.saturationVapourPressureKPa(inputs.tdew_C)),
  'asce-fallon-hourly-20150701-11PDT': fallonHour,
  'asce-appC-greeley-day1': (inputs) => asceDay(inputs, inputs.ea_kPa),
  'asce-vs-fao-hourly-coefficients': (inputs) => {
    const { temp_C, ea_kPa, dayOfYear, latitude_deg, elevation_m } = inputs;
    const omega = extra.faoHourAngleRad(inputs.hourStart_utc_h + 0.5, inputs.longitude_degE, dayOfYear);
    const above = extra.faoExtraterrestrialPeriodMJm2(latitude_deg, dayOfYear, omega, 1);
    const relative = inputs.rs_MJ_m2_h / rad.faoClearSkyMJm2(above, elevation_m);
    const hour = {
      airTempC: temp_C,
      actualVapourPressureKPa: ea_kPa,
      netRadiationMJm2: rad.netShortwaveMJm2(inputs.rs_MJ_m2_h) - rad.netLongwaveHourlyMJm2(temp_C, ea_kPa, relative),
      windSpeed2mMs: inputs.wind2m_m_s,
      pressureKPa: air.atmosphericPressureKPa(elevation_m),
    };
    return {
      etoShort_asce_mm_h: et.referenceEtHourlyMm(hour, 'asce-short'),
      et0_fao56_mm_h: et.referenceEtHourlyMm(hour),
    };
  },
};
