import * as degree from '../../../src/science/degree-days.js';
import {
  extraterrestrialNormalWm2,
  faoDaylightHours,
  faoExtraterrestrialDailyMJm2,
} from '../../../src/science/extraterrestrial.js';
import * as heat from '../../../src/science/heat.js';
import * as light from '../../../src/science/light.js';
import * as rad from '../../../src/science/radiation.js';
import { quantile } from '../../../src/science/statistics/quantiles.js';
import type { Computations, Inputs } from './entries.js';

const thermalZenith = (inputs: Inputs) => ({
  zeniths: [inputs.apparentZenith_deg].flat() as number[],
  airMasses: [inputs.airmassAbsolute].flat() as number[],
});

/** The published series does not print the radiation above the atmosphere; it used 1364 W/m², the default of its code. */
const ineichen = (inputs: Inputs) => {
  const { zeniths, airMasses } = thermalZenith(inputs);
  const skies = zeniths.map((zenith, index) =>
    rad.ineichenClearSky({
      apparentAltitudeDeg: 90 - zenith,
      airMassAbsolute: airMasses[index] ?? Number.NaN,
      linkeTurbidity: inputs.linkeTurbidity,
      elevationM: inputs.altitude_m ?? 0,
      extraterrestrialNormalWm2: inputs.dniExtra_W_m2 ?? 1364,
    }),
  );
  return {
    ghi_W_m2: skies.map((sky) => sky.globalWm2),
    dni_W_m2: skies.map((sky) => sky.directNormalWm2),
    dhi_W_m2: skies.map((sky) => sky.diffuseWm2),
  };
};

const degreeDays = ({ tmin_C, tmax_C, lower_C, upper_C }: Inputs) => {
  const thresholds = { lowerC: lower_C, ...(upper_C === null ? {} : { upperC: upper_C }) };
  return {
    average_Cd: degree.averageDegreeDays(tmin_C, tmax_C, lower_C),
    singleTriangle_Cd: degree.triangleDegreeDays(tmin_C, tmax_C, thresholds),
    singleSine_Cd: degree.sineDegreeDays(tmin_C, tmax_C, thresholds),
    singleSineVertical_Cd: degree.sineDegreeDays(tmin_C, tmax_C, { ...thresholds, cutoff: 'vertical' }),
    singleSineIntermediate_Cd: degree.sineDegreeDays(tmin_C, tmax_C, { ...thresholds, cutoff: 'intermediate' }),
  };
};

const warm = ({ tx_C, tx90_C, minSpell_days }: Inputs) => {
  const spells = heat.warmSpells(tx_C, tx90_C, minSpell_days);
  return {
    wsdi_days: spells.days,
    spellLengths_days: spells.runs.map((run) => run.length),
    tx90p_pct: heat.warmDaysPct(tx_C, tx90_C),
  };
};

const excessHeatSeries = (window: heat.HeatWindow) => (inputs: Inputs) => {
  const days = inputs.index.map((index: number) =>
    heat.excessHeatOn(inputs.dmt_C, index, inputs.t95_C, window),
  ) as heat.ExcessHeat[];
  return {
    mean3_C: days.map((day) => day.mean3C),
    mean30_C: days.map((day) => day.mean30C),
    ehiSig_C: days.map((day) => day.significanceC),
    ehiAccl_C: days.map((day) => day.acclimatisationC),
    ehf_C2: days.map((day) => day.excessHeatFactorC2),
  };
};

const luxSources: Record<string, light.LuxSource & light.ParSource> = {
  'sun and sky': 'sun-and-sky',
  incandescent: 'incandescent',
  'cool white fluorescent': 'cool-white-fluorescent',
  'high pressure sodium': 'high-pressure-sodium',
  'metal halide': 'metal-halide',
};
const sourceOf = (name: string) => luxSources[name] ?? 'sun-and-sky';

export const lightAndHeatComputations: Computations = {
  'fao56-ex10-rs-angstrom': (inputs) => {
    const above = faoExtraterrestrialDailyMJm2(inputs.latitude_deg, inputs.dayOfYear);
    const daylight = faoDaylightHours(inputs.latitude_deg, inputs.dayOfYear);
    return {
      ra_MJ_m2_day: above,
      daylight_h: daylight,
      rs_MJ_m2_day: rad.radiationFromSunshineMJm2(inputs.sunshine_h, daylight, above, { a: inputs.as, b: inputs.bs }),
      rso_MJ_m2_day: rad.faoClearSkyMJm2(above, 0),
    };
  },
  'fao56-ex15-rs-from-temperature': ({ tmin_C, tmax_C, ra_MJ_m2_day, kRs }) => ({
    rs_MJ_m2_day: rad.radiationFromTemperatureMJm2(tmin_C, tmax_C, ra_MJ_m2_day, kRs),
  }),
  'haurwitz-pvlib': ({ apparentElevation_deg }) => ({
    ghi_W_m2: apparentElevation_deg.map(rad.haurwitzClearSkyWm2),
  }),
  'ineichen-scalar': ineichen,
  'ineichen-altitude-2000m': ineichen,
  'ineichen-series-phoenix': ineichen,
  'kasten-young-airmass': ({ apparentZenith_deg }) => ({
    airmass: apparentZenith_deg.map((zenith: number) => rad.relativeAirMass(90 - zenith)),
  }),
  'erbs-diffuse-fraction': ({ ghi_W_m2, zenith_deg, date }) => {
    const splits = (ghi_W_m2 as number[]).map((globalWm2, index) =>
      rad.erbsDiffuseSplit(globalWm2, 90 - zenith_deg[index], extraterrestrialNormalWm2(Date.parse(date[index]))),
    );
    return {
      dni_W_m2: splits.map((split) => split.directNormalWm2),
      dhi_W_m2: splits.map((split) => split.diffuseWm2),
      kt: splits.map((split) => split.clearnessIndex),
    };
  },
  'thimijan-sunlight-par-quanta': ({ par_W_m2 }) => ({ ppfd_umol_m2_s: light.ppfdFromParUmol(par_W_m2) }),
  'thimijan-lux-per-umol': ({ source }) => ({
    lux_per_umol_m2_s: source.map((name: string) => light.luxFromPpfd(1, sourceOf(name))),
  }),
  'thimijan-umol-per-J-lamps': ({ source }) => ({
    umol_per_J_PAR: source.map((name: string) => light.ppfdFromParUmol(1, sourceOf(name))),
  }),
  'lux-to-ppfd-daylight': ({ illuminance_lux }) => ({
    ppfd_umol_m2_s: illuminance_lux.map((lux: number) => light.ppfdFromLuxUmol(lux)),
  }),
  'mccree-global-to-ppfd': ({ global_W_m2 }) => ({
    ppfd_umol_m2_s: global_W_m2.map((radiationWm2: number) => light.ppfdFromGlobalUmol(radiationWm2)),
  }),
  'photon-energy-umol-per-J': ({ wavelength_nm }) => ({
    umol_per_J: wavelength_nm.map(light.umolPerJouleAtWavelength),
  }),
  'dli-constant-ppfd': ({ ppfd_umol_m2_s, photoperiod_h }) => ({
    dli_mol_m2_day: ppfd_umol_m2_s.map((ppfd: number, index: number) =>
      light.dliFromSteadyPpfd(ppfd, photoperiod_h[index]),
    ),
  }),
  'dli-from-global-MJ': ({ global_MJ_m2_day }) => ({
    dli_mol_m2_day: global_MJ_m2_day.map((sum: number) => light.dliFromRadiationIntegral(sum * 1e6)),
  }),
  'dli-half-sine-day': ({ peakPpfd_umol_m2_s, dayLength_h }) => ({
    dli_mol_m2_day: light.dliOfHalfSineDay(peakPpfd_umol_m2_s, dayLength_h),
  }),
  // A degree-day in Fahrenheit is the same arithmetic in other units.
  'wilson-barnett-1983-table1': ({ tmin_F, tmax_F, base_F }) => ({
    degreeDays_F: tmin_F.map((min: number, index: number) => degree.averageDegreeDays(min, tmax_F[index], base_F)),
  }),
  'dd-lower-intercepts': degreeDays,
  'dd-entirely-above-lower': degreeDays,
  'dd-both-thresholds': degreeDays,
  'dd-upper-intercepts': degreeDays,
  'dd-cold-day': degreeDays,
  'dd-entirely-below': degreeDays,
  'dd-entirely-above-upper': degreeDays,
  'etccdi-wsdi-tiny-series': warm,
  'etccdi-wsdi-two-spells': warm,
  'etccdi-tx90p-fraction': warm,
  'quantile-type8-vs-type7': ({ sample, p }) => ({ type8: quantile(sample, p, 8), type7: quantile(sample, p, 7) }),
  'ehf-trailing-window': excessHeatSeries('trailing'),
  'ehf-forward-window': excessHeatSeries('forward'),
  'ehf-negative-and-unit-floor': ({ mean3_C, mean30_C, t95_C }) => ({
    ehf_C2: mean3_C.map(
      (mean3: number, index: number) => heat.excessHeat(mean3, mean30_C[index], t95_C).excessHeatFactorC2,
    ),
  }),
};
