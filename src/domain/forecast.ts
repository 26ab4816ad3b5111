/** One hour of an outdoor forecast; null: the source does not say. The radiation is the mean of the hour that begins at `at`. */
export interface ForecastHour {
  /** Start of the hour, UTC ms. */
  readonly at: number;
  readonly airTempC: number | null;
  readonly relHumidityPct: number | null;
  readonly radiationWm2: number | null;
  readonly cloudPct: number | null;
  readonly windMs: number | null;
  readonly rainMm: number | null;
}

/** A forecast as it was issued for a site. Every one is kept: what was known on a morning must be found again. */
export interface IssuedForecast {
  readonly siteId: string;
  /** Name of the source in the configuration, or who pushed it. */
  readonly source: string;
  readonly issuedAt: number;
  readonly receivedAt: number;
  /** Rising, one per hour, no hour twice. */
  readonly hours: readonly ForecastHour[];
}
