/** What is believed of a house's air before it was heard: by its cover, its heating and its cooling. */
import { type AirPrior, airCoefficients } from './air-model.js';

export interface HouseKind {
  /** Share of daylight that comes in, 0 to 1. */
  readonly transmission: number;
  /** Two layers lose about half of what one loses. */
  readonly doubleCover: boolean;
  /** Heated to this; undefined: unheated. */
  readonly heatToC?: number | undefined;
}

/** A house nobody told anything of. */
export const UNKNOWN_HOUSE: HouseKind = { transmission: 0.67, doubleCover: false };

/** Sun of 500 W/m² in a house with closed vents and a cover of 0.67 warms the air by some 15 °C (starting value of ours). */
const SUN_PER_HOUR_WM2 = 0.018;
/** U of one layer near 6, of two near 3.5 W m⁻² K⁻¹ (remembered from handbooks, not checked). */
const LOSS_PER_HOUR = { single: 0.6, double: 0.35 } as const;
/** An unheated house has no heating worth the name above this. */
const UNHEATED_C = 8;

/** Starting values of ours, wide apart; the house's own readings replace them within days. */
export function airPrior(kind: HouseKind): AirPrior {
  return {
    mean: airCoefficients({
      lossPerHour: kind.doubleCover ? LOSS_PER_HOUR.double : LOSS_PER_HOUR.single,
      sunPerHourWm2: (SUN_PER_HOUR_WM2 * kind.transmission) / UNKNOWN_HOUSE.transmission,
      massPerHour: 0.4,
      massHours: 24,
      heatToC: kind.heatToC ?? UNHEATED_C,
      heatPerHour: 2,
      ventFromC: 27,
      ventPerHour: 1.5,
      coolingShare: 0,
    }),
    deviation: [0.7, 0.8, 0.8, 0.7, 8, 0.7, 6, 1, 0.25],
  };
}
