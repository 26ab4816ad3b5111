import * as ephemeris from '../../../src/science/ephemeris.js';
import * as extra from '../../../src/science/extraterrestrial.js';
import { instantOfSolarLongitude, solarLongitudeDeg } from '../../../src/science/season.js';
import { dayLengthHours, sunPosition, sunTimes } from '../../../src/science/sun.js';
import { wrapDegrees } from '../../../src/science/units.js';
import type { Computations, Inputs } from './entries.js';

const iso = (ms: number | null) => (ms === null ? null : new Date(ms).toISOString());
const HOUR_MS = 3_600_000;

/** Midday at a place by mean solar time, where a civil noon is not given: within an hour or two of it. */
const noonOf = (date: string, longitudeDeg: number) => Date.parse(`${date}T12:00:00Z`) - (longitudeDeg / 15) * HOUR_MS;

function timesOf(dates: string[], latitude: number | number[], longitude: number | number[]) {
  return dates.map((date, index) => {
    const latitudeDeg = Array.isArray(latitude) ? (latitude[index] ?? Number.NaN) : latitude;
    const longitudeDeg = Array.isArray(longitude) ? (longitude[index] ?? Number.NaN) : longitude;
    const times = sunTimes(noonOf(date, longitudeDeg), latitudeDeg, longitudeDeg);
    // The published noon altitudes are as seen, with refraction.
    const noonAltitudeDeg = sunPosition(times.solarNoonMs, latitudeDeg, longitudeDeg).apparentAltitudeDeg;
    return { times, noonAltitudeDeg };
  });
}

const riseAndSet = (inputs: Inputs) => {
  const days = timesOf(inputs.dates ?? inputs.localDates, inputs.latitude_deg, inputs.longitude_deg);
  return {
    sunrise_utc: days.map(({ times }) => iso(times.sunriseMs)),
    sunset_utc: days.map(({ times }) => iso(times.sunsetMs)),
    transit_utc: days.map(({ times }) => iso(times.solarNoonMs)),
    dayLength_h: days.map(({ times }) => dayLengthHours(times)),
    noonAltitude_deg: days.map(({ noonAltitudeDeg }) => noonAltitudeDeg),
    state: days.map(({ times }) => (times.alwaysUp ? 'sun up all day' : times.alwaysDown ? 'sun down all day' : '')),
  };
};

/** The same by the clock of a fixed zone, as almanacs print it. */
const riseAndSetByClock = (offsetHours: number) => (inputs: Inputs) => {
  const clock = (text: string | null) =>
    text === null ? null : new Date(Date.parse(text) + offsetHours * HOUR_MS).toISOString().slice(11, 19);
  const { sunrise_utc, sunset_utc } = riseAndSet(inputs);
  return { sunrise_local: sunrise_utc.map(clock), sunset_local: sunset_utc.map(clock) };
};

const seasons = ({ year }: Inputs) => {
  const from = Date.UTC(year, 0, 1);
  const at = [0, 90, 180, 270].map((longitudeDeg) => instantOfSolarLongitude(longitudeDeg, from));
  const [march, june, september, december] = at.map((ms) => iso(ms));
  return {
    marchEquinox_utc: march,
    juneSolstice_utc: june,
    septemberEquinox_utc: september,
    decemberSolstice_utc: december,
    apparentSolarLongitude_deg: at
      .map((ms) => wrapDegrees(solarLongitudeDeg(ms) + 180) - 180)
      .map((deg) => (deg < -1 ? deg + 360 : deg)),
  };
};

const position = (inputs: Inputs) => {
  const atMs = Date.parse(inputs.utc);
  const { altitudeDeg, apparentAltitudeDeg, azimuthDeg } = sunPosition(atMs, inputs.latitude_deg, inputs.longitude_deg);
  const coordinates = ephemeris.sunCoordinates(atMs);
  return {
    altitudeGeometric_deg: altitudeDeg,
    altitudeApparent_deg: apparentAltitudeDeg,
    azimuthFromNorth_deg: azimuthDeg,
    declination_deg: coordinates.declinationDeg,
    distance_au: coordinates.distanceAu,
  };
};

/** Instant in dynamical time, as the older tables print it. */
const dynamical = (atMs: number) => atMs + 1000 * ephemeris.deltaTSeconds(ephemeris.julianDate(atMs));

export const sunComputations: Computations = {
  'fao56-ex08-ra': ({ latitude_deg, dayOfYear }) => {
    const daily = extra.faoExtraterrestrialDailyMJm2(latitude_deg, dayOfYear);
    return {
      dr: extra.faoInverseRelativeDistance(dayOfYear),
      declination_rad: extra.faoDeclinationRad(dayOfYear),
      sunsetHourAngle_rad: extra.faoSunsetHourAngleRad(latitude_deg, dayOfYear),
      ra_MJ_m2_day: daily,
      ra_mm_day: 0.408 * daily,
    };
  },
  'fao56-ex09-daylight-hours': ({ latitude_deg, dayOfYear }) => ({
    daylight_h: extra.faoDaylightHours(latitude_deg, dayOfYear),
  }),
  ...Object.fromEntries(
    ['fao56-table2.6-ra-40N', 'fao56-table2.6-ra-equator'].map((id) => [
      id,
      ({ latitude_deg, dayOfYear }: Inputs) => ({
        ra_MJ_m2_day: dayOfYear.map((day: number) => extra.faoExtraterrestrialDailyMJm2(latitude_deg, day)),
      }),
    ]),
  ),
  'asce-polar-limits': ({ cases_lat_deg_dayOfYear }) => ({
    sunsetHourAngle_rad: cases_lat_deg_dayOfYear.map(([lat, day]: [number, number]) =>
      extra.faoSunsetHourAngleRad(lat, day),
    ),
    ra_MJ_m2_day: cases_lat_deg_dayOfYear.map(([lat, day]: [number, number]) =>
      extra.faoExtraterrestrialDailyMJm2(lat, day),
    ),
  }),
  'nrel-spa-golden-2003': (inputs) => {
    const atMs = Date.parse(inputs.utc);
    const sun = ephemeris.sunCoordinates(atMs);
    const seen = sunPosition(atMs, inputs.latitude_deg, inputs.longitude_deg);
    return {
      julianDay: ephemeris.julianDate(atMs),
      heliocentricLongitude_deg: sun.trueLongitudeDeg - 180,
      earthSunDistance_au: sun.distanceAu,
      apparentSunLongitude_deg: sun.apparentLongitudeDeg,
      // Aberration is 20.4898 arc seconds; the rest of the step to the apparent longitude is nutation.
      nutationLongitude_deg: sun.apparentLongitudeDeg - sun.trueLongitudeDeg + 20.4898 / 3600,
      trueObliquity_deg: sun.obliquityDeg,
      apparentSiderealTime_deg: 15 * ephemeris.greenwichSiderealTimeHours(atMs),
      geocentricRA_deg: sun.rightAscensionDeg,
      geocentricDeclination_deg: sun.declinationDeg,
      topocentricDeclination_deg: sun.declinationDeg,
      elevationNoRefraction_deg: seen.altitudeDeg,
      refraction_deg: seen.apparentAltitudeDeg - seen.altitudeDeg,
      zenith_deg: 90 - seen.apparentAltitudeDeg,
      azimuthFromNorth_deg: seen.azimuthDeg,
      equationOfTime_min: sun.equationOfTimeMin,
    };
  },
  'nrel-spa-riseset-golden-2015': riseAndSet,
  'nrel-spa-riseset-35S': riseAndSet,
  'usno-riseset-39N-105W-2015': riseAndSetByClock(-7),
  'usno-riseset-beijing-2015': riseAndSetByClock(8),
  // The worked example is of the "low accuracy" form, without the pull of the planets.
  'meeus-25a-low-accuracy-sun': ({ jde }) => {
    const sun = ephemeris.sunCoordinatesAtEphemerisDate(jde, 0);
    return {
      julianCenturies: ephemeris.julianCenturies(jde),
      trueLongitude_deg: sun.trueLongitudeDeg,
      meanAnomaly_deg_mod360: sun.meanAnomalyDeg,
      eccentricity: sun.eccentricity,
      radiusVector_au: sun.distanceAu,
      apparentLongitude_deg: sun.apparentLongitudeDeg,
      apparentRA_deg: sun.rightAscensionDeg,
      apparentDeclination_deg: sun.declinationDeg,
    };
  },
  'meeus-28b-equation-of-time': ({ jd }) => {
    const minutes = ephemeris.sunCoordinatesAtEphemerisDate(jd).equationOfTimeMin;
    return { eot_min: minutes, eot_rad: (minutes * Math.PI) / 720 };
  },
  'meeus-27a-june-solstice-1962': ({ year }) => ({
    jde: ephemeris.julianDate(dynamical(instantOfSolarLongitude(90, Date.UTC(year, 0, 1)))),
  }),
  'meeus-27e-instants-2000-2005': ({ years }) => {
    const instants = (longitudeDeg: number) =>
      years.map((year: number) => iso(dynamical(instantOfSolarLongitude(longitudeDeg, Date.UTC(year, 0, 1)))));
    return { march_TD: instants(0), june_TD: instants(90), september_TD: instants(180), december_TD: instants(270) };
  },
  'meeus-12a-sidereal-time': ({ jd }) => ({
    meanSidereal_h: ephemeris.greenwichSiderealTimeHours((jd - 2440587.5) * 86_400_000),
  }),
  'meeus-13b-horizontal-coordinates': (inputs) => {
    const sidereal = ephemeris.greenwichSiderealTimeHours(Date.parse(inputs.utc));
    const hourAngleDeg = 15 * (sidereal - inputs.ra_h) - inputs.longitude_degW;
    const seen = ephemeris.horizontalCoordinates(hourAngleDeg, inputs.dec_deg, inputs.latitude_deg);
    return {
      altitude_deg: seen.altitudeDeg,
      azimuthFromNorth_deg: seen.azimuthDeg,
      azimuthFromSouth_deg: seen.azimuthDeg - 180,
    };
  },
  'meeus-ch7-julian-days': ({ utc }) => ({ jd: utc.map((text: string) => ephemeris.julianDate(Date.parse(text))) }),
  ...Object.fromEntries([2020, 2021, 2022, 2023, 2024, 2025, 2026].map((year) => [`usno-seasons-${year}`, seasons])),
  ...Object.fromEntries(
    ['equator', 'cape-town', 'phoenix', 'christchurch', 'oslo', 'rome', 'tromso-polar'].map((place) => [
      `daylength-${place}`,
      riseAndSet,
    ]),
  ),
  'daylength-fao-vs-astronomical': ({ latitude_deg, date, dayOfYear }) => ({
    faoDaylight_h: latitude_deg.map((lat: number) => extra.faoDaylightHours(lat, dayOfYear)),
    astronomical_h: latitude_deg.map((lat: number) => dayLengthHours(sunTimes(noonOf(date, 0), lat, 0))),
  }),
  ...Object.fromEntries(
    [
      'cape-town-2026-01-15',
      'cape-town-2026-07-01',
      'phoenix-2026-06-21',
      'phoenix-2027-12-01',
      'london-2026-04-10',
      'nairobi-2026-09-23',
      'sydney-2027-02-14',
    ].map((name) => [`sunpos-${name}`, position]),
  ),
  'earth-sun-distance': ({ utc }) => ({
    distance_au: utc.map((text: string) => ephemeris.sunCoordinates(Date.parse(text)).distanceAu),
  }),
  'extraterrestrial-normal-doy300': ({ dayOfYear, solarConstant_W_m2 }) => ({
    asce_W_m2: solarConstant_W_m2 * extra.faoInverseRelativeDistance(dayOfYear),
  }),
  // What comes of passing civil midnight, and of passing civil noon as the wrapper asks.
  'suncalc-civil-midnight-pitfall': ({ latitude_deg, longitude_deg, inputs_utc }) => ({
    sunriseLocalDate: inputs_utc.map((text: string) => {
      const { sunriseMs } = sunTimes(Date.parse(text), latitude_deg, longitude_deg);
      return new Date((sunriseMs ?? Number.NaN) + 11 * HOUR_MS).toISOString().slice(0, 10);
    }),
  }),
};
