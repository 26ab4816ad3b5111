import type { Alert, AlertEvent } from '../../src/domain/alerts.js';
import type { Message } from '../../src/domain/messages.js';

/** Wednesday 25 February 2026, 08:00 in Berlin. */
export const NOW = Date.UTC(2026, 1, 25, 7);
export const HOME = { id: 'home', name: 'Home', zone: 'Europe/Berlin' };

export const alert = (id: number, more: Partial<Alert> = {}): Alert => ({
  id,
  siteId: 'home',
  houseId: 'north',
  subject: '',
  kind: 'wet-night',
  state: 'firing',
  level: 'warning',
  text: { title: `Wet night in house ${id}`, reason: 'The air stays wet until morning.', whatToDo: 'Let air move.' },
  batchIds: [],
  pendingSince: NOW,
  firedAt: NOW,
  ...more,
});

export const event = (id: number, what: AlertEvent['what'], about: Alert, at = NOW): AlertEvent => ({
  id,
  siteId: about.siteId,
  alertId: about.id,
  at,
  what,
  by: null,
  alert: about,
});

export const message = (more: Partial<Message> = {}): Message => ({
  id: 'msg_1',
  siteId: 'home',
  kind: 'alert-new',
  title: 'Home: Wet night in house 1',
  text: 'The air stays wet until morning.\n\nWhat to do: Let air move.',
  dangerous: false,
  at: NOW,
  alert: alert(1),
  ...more,
});
