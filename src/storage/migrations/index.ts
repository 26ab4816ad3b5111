import { first } from './0001-first.js';
import type { Migration } from './migration.js';

/** In order. A new step goes to the end. */
export const MIGRATIONS: readonly Migration[] = [first];
