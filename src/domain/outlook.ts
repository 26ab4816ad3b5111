import type { LocalDay } from './time.js';

/** Ten, fifty and ninety per cent: one in ten turns out below `p10`, one in ten above `p90`. */
export interface Band {
  readonly p10: number;
  readonly p50: number;
  readonly p90: number;
}

export const mapBand = ({ p10, p50, p90 }: Band, change: (value: number) => number): Band => ({
  p10: change(p10),
  p50: change(p50),
  p90: change(p90),
});

/** A figure that is known: a band without width. */
export const certainBand = (value: number): Band => ({ p10: value, p50: value, p90: value });

export interface OutlookHour {
  /** Start of the hour, UTC ms. */
  readonly at: number;
  readonly airTempC: Band;
  readonly relHumidityPct?: number;
  /** At bench height, with the cloth that hangs now. */
  readonly ppfdUmol?: number;
  readonly outsideTempC?: number;
}

/** What a house is expected to be like on a local day. A figure that cannot be told is left out. */
export interface OutlookDay {
  readonly day: LocalDay;
  /** 0: today. */
  readonly lead: number;
  readonly dayMaxC?: Band;
  /** Of the night that ends on this day. */
  readonly nightMinC?: Band;
  readonly dli?: number;
  readonly peakPpfdUmol?: number;
  /** Hours of the night that begins on this day with the dew point close and at temperatures at which grey mould infects. */
  readonly wetHours?: number;
  readonly nightMaxRelHumidityPct?: number;
}

/** How good the house's own model was of late: mean absolute error of the day maximum beside "same as yesterday". */
export interface OutlookSkill {
  readonly days: number;
  readonly maeC: number;
  readonly persistenceMaeC: number;
  /** Share of days on which the 80 % band held. */
  readonly bandHeld: number;
}

/** The coming hours and days of one house. */
export interface HouseOutlook {
  readonly houseId: string;
  readonly issuedAt: number;
  /** Where the outside weather is from: a forecast, or the last days again. */
  readonly basis: 'forecast' | 'last-days';
  /** In a grower's words, e.g. `forecast of 05:10 through the model of this house`. */
  readonly from: string;
  readonly hours: readonly OutlookHour[];
  readonly days: readonly OutlookDay[];
  /** What the model has learned, in words and figures for the house page. */
  readonly learned: readonly string[];
  readonly skill?: OutlookSkill;
}
