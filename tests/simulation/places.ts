/**
 * Monthly normals of the places whose calendars were published, and of the places of the simulated houses. Months run from
 * January. Where a figure was written down from memory its source says "remembered"; a check against a newer normal
 * period would move it by a few tenths of a degree or a few hours, which none of these tests can see.
 */
export interface Place {
  readonly id: string;
  readonly latitudeDeg: number;
  readonly elevationM: number;
  readonly dayMaxC: readonly number[];
  readonly nightMinC: readonly number[];
  /** Bright sunshine of the month, hours. */
  readonly sunshineHours: readonly number[];
  /** Night minimum above the dew point, °C: damp places little, deserts much. */
  readonly dewDepressionC: number;
  /** How far days stray from the normal, one standard deviation, °C: in mid-winter and in mid-summer. */
  readonly strayC: readonly [winter: number, summer: number];
  readonly source: string;
}

const DEW_AND_STRAY = 'dew point and scatter of days: common practice, no published source';

export const LONDON: Place = {
  id: 'London',
  latitudeDeg: 51.5,
  elevationM: 10,
  dayMaxC: [8.3, 8.5, 11.4, 14.2, 17.7, 20.7, 23.2, 22.9, 20.1, 15.6, 11.4, 8.6],
  nightMinC: [2.6, 2.4, 4.1, 5.4, 8.4, 11.5, 13.9, 13.7, 11.2, 8.3, 5.1, 2.8],
  sunshineHours: [49.9, 71.4, 107.1, 159.8, 181.2, 181.0, 192.1, 195.1, 138.9, 108.1, 58.5, 37.4],
  dewDepressionC: 1,
  strayC: [3.2, 3],
  source: `Met Office averages 1971-2000, Greenwich (summer minima remembered); ${DEW_AND_STRAY}`,
};

export const SARASOTA: Place = {
  id: 'Sarasota',
  latitudeDeg: 27.3,
  elevationM: 6,
  dayMaxC: [23.2, 24.2, 27.1, 29.9, 32.4, 33.1, 33.4, 33.4, 32.8, 30.2, 26.9, 24.0],
  nightMinC: [9.0, 9.7, 12.6, 14.1, 17.2, 20.4, 21.5, 22.0, 21.6, 17.8, 13.5, 10.2],
  sunshineHours: [199, 205, 260, 283, 316, 275, 257, 238, 227, 243, 207, 196],
  dewDepressionC: 0.5,
  strayC: [4, 1.2],
  source: `30-year averages of the National Weather Service as given on a regional page (from °F); sunshine of Tampa, remembered; ${DEW_AND_STRAY}`,
};

export const DALLAS: Place = {
  id: 'Dallas',
  latitudeDeg: 32.9,
  elevationM: 171,
  dayMaxC: [12.3, 14.9, 19.9, 24.6, 28.3, 33.3, 35.8, 35.7, 31.0, 25.8, 19.3, 14.2],
  nightMinC: [0.4, 2.7, 7.6, 12.6, 17.0, 21.1, 23.4, 23.1, 19.4, 13.2, 7.4, 2.4],
  sunshineHours: [164, 159, 221, 234, 256, 297, 323, 305, 240, 229, 175, 159],
  dewDepressionC: 2,
  strayC: [5.5, 2.2],
  source: `National Weather Service normals 1961-1990, Dallas-Fort Worth, as given on a climate page; sunshine remembered; ${DEW_AND_STRAY}`,
};

export const ALBUQUERQUE: Place = {
  id: 'Albuquerque',
  latitudeDeg: 35.0,
  elevationM: 1620,
  dayMaxC: [9.8, 12.3, 16.2, 21.2, 26.4, 31.9, 33.8, 32.6, 29.0, 22.6, 15.2, 9.7],
  nightMinC: [-2.1, -0.2, 2.8, 6.8, 11.8, 16.9, 19.3, 18.7, 14.4, 8.1, 2.2, -1.7],
  sunshineHours: [234, 225, 270, 304, 347, 359, 335, 314, 286, 281, 233, 223],
  dewDepressionC: 8,
  strayC: [3.8, 2],
  source: `National Weather Service normals 1991-2020 as given on a climate page (from °F); sunshine remembered; ${DEW_AND_STRAY}`,
};

export const PRAGUE: Place = {
  id: 'Prague',
  latitudeDeg: 50.1,
  elevationM: 300,
  dayMaxC: [1.0, 3.2, 8.5, 14.2, 18.7, 22.0, 24.7, 24.5, 20.0, 13.6, 6.9, 2.6],
  nightMinC: [-4.6, -3.8, -0.5, 3.1, 8.4, 11.2, 13.5, 13.3, 9.5, 5.1, 0.9, -2.1],
  sunshineHours: [49.6, 73.5, 124.0, 168.0, 213.9, 219.0, 226.3, 210.8, 162.0, 120.9, 54.0, 46.5],
  dewDepressionC: 1.5,
  strayC: [4.5, 3.8],
  source: `World Meteorological Organization averages; sunshine Hong Kong Observatory; both as given on an encyclopaedia page; ${DEW_AND_STRAY}`,
};

export const ATHENS: Place = {
  id: 'Athens',
  latitudeDeg: 38.0,
  elevationM: 107,
  dayMaxC: [12.5, 13.5, 15.7, 20.2, 26.0, 31.1, 33.5, 33.2, 29.2, 23.3, 18.1, 14.1],
  nightMinC: [5.2, 5.4, 6.7, 9.6, 13.9, 18.2, 20.8, 20.7, 17.3, 13.4, 9.8, 6.8],
  sunshineHours: [129, 139, 182, 231, 291, 336, 362, 341, 276, 208, 153, 127],
  dewDepressionC: 3,
  strayC: [3.2, 2.4],
  source: `Hellenic National Meteorological Service averages as given on a university page; sunshine remembered; ${DEW_AND_STRAY}`,
};

export const JOHANNESBURG: Place = {
  id: 'Johannesburg',
  latitudeDeg: -26.1,
  elevationM: 1694,
  dayMaxC: [25.6, 25.1, 24.0, 21.1, 18.9, 16.0, 16.7, 19.4, 22.8, 23.8, 24.2, 25.2],
  nightMinC: [14.7, 14.1, 13.1, 10.3, 7.2, 4.1, 4.1, 6.2, 9.3, 11.2, 12.7, 13.9],
  sunshineHours: [250, 225, 239, 237, 276, 267, 284, 284, 281, 269, 249, 263],
  dewDepressionC: 3,
  strayC: [2.6, 2.4],
  source: `World Meteorological Organization normals 1961-1990, Johannesburg airport, remembered; ${DEW_AND_STRAY}`,
};

/** The same climate in the other hemisphere: latitude turned round, the months half a year later. */
export function mirrored(place: Place): Place {
  const turned = (months: readonly number[]) => months.map((_, month) => months[(month + 6) % 12] as number);
  return {
    ...place,
    id: `${place.id}, mirrored`,
    latitudeDeg: -place.latitudeDeg,
    dayMaxC: turned(place.dayMaxC),
    nightMinC: turned(place.nightMinC),
    sunshineHours: turned(place.sunshineHours),
  };
}
