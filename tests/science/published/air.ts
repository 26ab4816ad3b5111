import * as air from '../../../src/science/air.js';
import type { Computations, Inputs } from './entries.js';

/** Humid air at one state, from temperature, relative humidity (0-1) and pressure (Pa), in the units of the entries. */
function state({ temp_C, rh, pressure_Pa }: Inputs) {
  const pressureKPa = pressure_Pa / 1000;
  const vapour = air.vapourPressureKPa(temp_C, 100 * rh);
  const ratio = air.humidityRatio(vapour, pressureKPa);
  return {
    saturationPressure_Pa: 1000 * air.saturationVapourPressureKPa(temp_C),
    vapourPressure_Pa: 1000 * vapour,
    vpd_Pa: 1000 * air.vpdKPa(temp_C, 100 * rh),
    humidityRatio_kg_kg: ratio,
    dewPoint_C: air.dewPointC(temp_C, 100 * rh),
    wetBulb_C: air.wetBulbC(temp_C, 100 * rh, pressureKPa),
    enthalpy_J_kg: 1000 * air.enthalpyKJPerKg(temp_C, ratio),
  };
}

const pressure = (elevationM: number) => air.atmosphericPressureKPa(elevationM);
const gamma = (elevationM: number) => air.psychrometricConstantKPaPerC(pressure(elevationM));

export const airComputations: Computations = {
  'fao56-ex02-pressure-gamma': ({ elevation_m }) => ({
    pressure_kPa: pressure(elevation_m),
    gamma_kPa_per_C: gamma(elevation_m),
  }),
  'fao56-table2.1-pressure': ({ elevation_m }) => ({ pressure_kPa: elevation_m.map(pressure) }),
  'fao56-table2.2-gamma-altitude': ({ elevation_m }) => ({ gamma_kPa_per_C: elevation_m.map(gamma) }),
  'fao56-table2.3-e0': ({ temp_C }) => ({ e0_kPa: temp_C.map(air.saturationVapourPressureKPa) }),
  'fao56-table2.4-slope': ({ temp_C }) => ({ slope_kPa_per_C: temp_C.map(air.saturationSlopeKPaPerC) }),
  'fao56-ex03-mean-es': ({ tmax_C, tmin_C }) => ({
    e0_tmax_kPa: air.saturationVapourPressureKPa(tmax_C),
    e0_tmin_kPa: air.saturationVapourPressureKPa(tmin_C),
    es_kPa: air.dailySaturationVapourPressureKPa(tmin_C, tmax_C),
  }),
  'fao56-ex04-psychrometer': (inputs) => ({
    pressure_kPa: pressure(inputs.elevation_m),
    e0_twet_kPa: air.saturationVapourPressureKPa(inputs.twet_C),
    ea_kPa: air.vapourPressureFromPsychrometerKPa(
      inputs.tdry_C,
      inputs.twet_C,
      pressure(inputs.elevation_m),
      inputs.psychrometerCoeff_per_C,
    ),
  }),
  'fao56-ex05-ea-from-rh': ({ tmin_C, tmax_C, rhmin_pct, rhmax_pct }) => ({
    ea_from_rhmax_rhmin_kPa: air.dailyVapourPressureKPa(tmin_C, tmax_C, rhmin_pct, rhmax_pct),
    ea_from_rhmax_kPa: air.dailyVapourPressureFromMaxHumidityKPa(tmin_C, rhmax_pct),
    ea_from_rhmean_kPa: air.dailyVapourPressureFromMeanHumidityKPa(tmin_C, tmax_C, (rhmin_pct + rhmax_pct) / 2),
  }),
  'fao56-ex06-vpd': ({ tmin_C, tmax_C, rhmin_pct, rhmax_pct }) => ({
    es_kPa: air.dailySaturationVapourPressureKPa(tmin_C, tmax_C),
    vpd_kPa: air.dailyVpdKPa(tmin_C, tmax_C, air.dailyVapourPressureKPa(tmin_C, tmax_C, rhmin_pct, rhmax_pct)),
  }),
  'asce-tableC3-slope-list': ({ tmean_C, elevation_m }) => ({
    slope_kPa_per_C: tmean_C.map(air.saturationSlopeKPaPerC),
    pressure_kPa: pressure(elevation_m),
    gamma_kPa_per_C: gamma(elevation_m),
  }),
  'ashrae-table2-saturation-humidity-ratio': ({ temp_C, pressure_Pa }) => ({
    humidityRatio_kg_kg: temp_C.map((tempC: number) =>
      air.humidityRatio(air.saturationVapourPressureKPa(tempC), pressure_Pa / 1000),
    ),
  }),
  'ashrae-example1-40C-wb20': ({ tdry_C, twet_C, pressure_Pa }) => {
    const pressureKPa = pressure_Pa / 1000;
    const ratio = air.humidityRatioFromWetBulb(tdry_C, twet_C, pressureKPa);
    const vapour = air.vapourPressureFromHumidityRatioKPa(ratio, pressureKPa);
    return {
      humidityRatio_kg_kg: ratio,
      rh: air.relHumidityPctFromVapourPressure(tdry_C, vapour) / 100,
      dewPoint_C: air.dewPointFromVapourPressureC(vapour),
      enthalpy_J_kg: 1000 * air.enthalpyKJPerKg(tdry_C, ratio),
      specificVolume_m3_kg: air.specificVolumeM3PerKg(tdry_C, ratio, pressureKPa),
    };
  },
  'psychro-wetbulb-7C-61pct': (inputs) => ({ wetBulb_C: state(inputs).wetBulb_C }),
  'psychro-humidity-ratio-from-vapour-pressure': ({ vapourPressure_Pa, pressure_Pa }) => ({
    humidityRatio_kg_kg: air.humidityRatio(vapourPressure_Pa / 1000, pressure_Pa / 1000),
  }),
  'psychro-enthalpy-volume': ({ temp_C, humidityRatio_kg_kg, pressure_Pa }) => ({
    enthalpy_J_kg: 1000 * air.enthalpyKJPerKg(temp_C, humidityRatio_kg_kg),
    specificVolume_m3_kg: air.specificVolumeM3PerKg(temp_C, humidityRatio_kg_kg, pressure_Pa / 1000),
    density_kg_m3: air.moistAirDensityKgPerM3(temp_C, humidityRatio_kg_kg, pressure_Pa / 1000),
  }),
  ...Object.fromEntries(
    [
      'psychro-20C-50pct-101.325kPa',
      'psychro-25C-60pct-101.325kPa',
      'psychro-30C-30pct-101.325kPa',
      'psychro-35C-20pct-101.325kPa',
      'psychro-10C-90pct-101.325kPa',
      'psychro-5C-95pct-101.325kPa',
      'psychro-40C-15pct-95kPa',
      'psychro-15C-75pct-89.8746kPa',
      'psychro-28C-45pct-84.556kPa',
      'psychro-33C-70pct-101.325kPa',
    ].map((id) => [id, state]),
  ),
};
