import type { AirPrior } from './air-model.js';
import type { ThermalDay } from './days.js';
import type { SkyHour, ThermalPlace } from './record.js';
import type { Walk } from './walk.js';

/** How far off the expected weather of an hour usually is, one standard deviation. */
export interface WeatherSpread {
  readonly airTempC: number;
  /** As a share of the radiation. */
  readonly radiationShare: number;
}

export interface OutlookInput {
  readonly at: number;
  readonly place: ThermalPlace;
  readonly prior: AirPrior;
  /** Grid with the hours to come: outside as expected, inside not known. */
  readonly hours: readonly SkyHour[];
  readonly days: readonly ThermalDay[];
  readonly walk: Walk;
  readonly spreadOf: (startMs: number) => WeatherSpread;
  /** Share of outside light that reaches the benches, the cloth that hangs included. */
  readonly lightTransmission: number;
  /** Condensation begins this far above the dew point, °C. */
  readonly wetMarginC: number;
}
