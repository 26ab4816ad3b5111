import type { AirPrior } from './air-model.js';
import type { ThermalDay } from './days.js';
import type { SkyHour, ThermalPlace } from './record.js';
import type { Walk } from './walk.js';

/** How far off the expected weather of an hour usually is, one standard deviation. */
export interface WeatherSpread {
  readonly airTempC: number;
  readonly radiationWm2: number;
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
  /** The weather to come is only that of the last days again. */
  readonly isGuess: boolean;
  /** Share of outside light that reaches the benches, the cloth that hangs included. */
  readonly lightTransmission: number;
  /** Condensation begins this far above the dew point, °C. */
  readonly wetMarginC: number;
}
