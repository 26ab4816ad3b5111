import type { Site } from '../../domain/site.js';
import type { Reader } from '../deps.js';

/** What every part of a page needs to know. */
export interface PageContext {
  readonly site: Site;
  readonly severalSites: boolean;
  readonly now: number;
  /** Marks the forms of this page, so that a double tap counts once. */
  readonly key: string;
  readonly reader: Reader;
}
