import type { Catalogue } from '../../domain/catalogue.js';
import type { IssuedForecast } from '../../domain/forecast.js';
import type { HouseOutlook } from '../../domain/outlook.js';
import type { Site } from '../../domain/site.js';
import type { LocalDay } from '../../domain/time.js';
import type { Round } from '../../domain/verdict.js';
import type { HouseFacts } from '../../models/alert-kinds/house-facts.js';
import type { Storage } from '../../storage/repositories.js';
import type { Keeper } from '../keeper.js';

/** Something that was read before and holds still; empty until then. */
export interface Slot<T> {
  kept?: T;
}

/** What the alerts need of the service. What may be left out makes them know less, never more. */
export interface AlertsParts {
  readonly storage: Pick<Storage, 'alerts' | 'readings' | 'refusals' | 'rounds'>;
  readonly keeper: Pick<Keeper, 'collection'>;
  readonly rounds: {
    today(siteId: string): LocalDay;
    latest(siteId: string, day: LocalDay): Promise<Round | undefined>;
  };
  sites(): readonly Site[];
  catalogue(): Catalogue;
  /** A house's own limits of the alerts, by name. */
  alertLimits(siteId: string, houseId: string): Readonly<Record<string, number>>;
  /** The newest outlook of a house. */
  outlook?(siteId: string, houseId: string): Promise<HouseOutlook | undefined>;
  /** What the measures would buy, in words. @param clothId the advised cloth */
  buys?(siteId: string, houseId: string, clothId: string | null): Promise<HouseFacts['buys']>;
  /** The newest outdoor forecast that still says anything. */
  forecast?(siteId: string): Promise<Pick<IssuedForecast, 'hours'> | undefined>;
  /** Free room on the disk of the database. */
  freeBytes?(): Promise<number | undefined>;
  now(): number;
  /** Told what failed without stopping the rest: a listener, or the look at one kind of alert. */
  onTrouble?(error: unknown): void;
}
