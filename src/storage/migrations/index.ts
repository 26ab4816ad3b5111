import { first } from './0001-first.js';
import { houseSettings } from './0002-house-settings.js';
import { outdoorForecasts } from './0003-outdoor-forecasts.js';
import { alerts } from './0004-alerts.js';
import { notifications } from './0005-notifications.js';
import type { Migration } from './migration.js';

/** In order. A new step goes to the end. */
export const MIGRATIONS: readonly Migration[] = [first, houseSettings, outdoorForecasts, alerts, notifications];
