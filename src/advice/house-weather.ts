import type { LocalDay } from '../domain/time.js';
import type { ClimateDay } from '../models/house-climate.js';

/** What the sensors of a house told of its climate up to a morning. */
export interface HouseWeather {
  readonly houseId: string;
  /** Days before the morning, oldest first, without holes. */
  readonly past: readonly ClimateDay[];
  /** What is known of the morning's own day: the night that ends. */
  readonly today: ClimateDay;
  /** Whether that night's coldest hours are over; until then the night before is the last one. */
  readonly nightOver: boolean;
  readonly sensorsHeard: number;
  readonly lastReadingAt: number | null;
  /** The cloth that hangs: share of light it lets through, and since when; 1 and null where nobody spoke of any. */
  readonly hung: { readonly transmission: number; readonly since: LocalDay | null };
}
