import type { Catalogue } from '../../domain/catalogue.js';
import type { HouseOutlook } from '../../domain/outlook.js';
import type { Site } from '../../domain/site.js';
import type { LocalDay } from '../../domain/time.js';
import type { Round } from '../../domain/verdict.js';
import type { HouseFacts } from '../../models/alert-kinds/house-facts.js';
import type { Storage } from '../../storage/repositories.js';
import type { Keeper } from '../keeper.js';

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
  /** The cloth that ought to hang by the advice, and since when; null: none. Undefined: nothing is advised. */
  advisedCloth?(
    siteId: string,
    houseId: string,
  ): Promise<{ readonly clothId: string | null; readonly since: number } | undefined>;
  /** What the measures would buy, in words. */
  buys?(siteId: string, houseId: string): Promise<HouseFacts['buys']>;
  /** Whether cloud is expected tonight; undefined: not known. */
  cloudyTonight?(siteId: string): Promise<boolean | undefined>;
  /** Free room on the disk of the database. */
  freeBytes?(): Promise<number | undefined>;
  now(): number;
  /** Told what failed without stopping the rest: a listener, or the look at one kind of alert. */
  onTrouble?(error: unknown): void;
}
