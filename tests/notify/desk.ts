import type { AlertKind } from '../../src/domain/alerts.js';
import type { Message } from '../../src/domain/messages.js';
import { siteSchema } from '../../src/domain/site.js';
import type { Channel, Outcome } from '../../src/notify/channel.js';
import { createNotifications } from '../../src/notify/notifications.js';
import type { Storage } from '../../src/storage/repositories.js';
import { HOME } from './support.js';

export const MINUTE = 60_000;
export const HOUR = 60 * MINUTE;
/** 25 February 2026, 22:00 in Berlin: inside the quiet hours. */
export const NIGHT = Date.UTC(2026, 1, 25, 21);
export const MORNING = Date.UTC(2026, 1, 26, 5, 30);
export const SITE = siteSchema.parse({ ...HOME, latitude: 51, longitude: 7, houses: [{ id: 'north', name: 'North' }] });
export const never = new AbortController().signal;

/** A channel that answers as it is told, and what it was given. */
export function channelOf(name = 'hook', recipients = [''], sites?: readonly string[]) {
  const sent: { message: Message; recipient: string; at: number }[] = [];
  const state = { answer: (_recipient: string): Outcome => ({ kind: 'sent' }) };
  const channel: Channel = {
    name,
    kind: 'webhook',
    address: 'https://hooks.example',
    recipients,
    ...(sites && { sites }),
    takes: () => true,
    send: async (message, recipient, at) => {
      sent.push({ message, recipient, at });
      return state.answer(recipient);
    },
  };
  return { channel, sent, state };
}

export function desk(storage: Storage, channels: readonly Channel[], at = NIGHT, ids = { last: 0 }) {
  const clock = { now: at };
  const notifications = createNotifications({
    storage,
    sites: () => [SITE],
    channels: () => channels,
    quietHours: () => ({ from: '21:00', to: '06:30' }),
    now: () => clock.now,
    random: () => 0,
    newId: () => `msg_${++ids.last}`,
  });
  const run = async () => {
    await notifications.takeIn();
    return notifications.deliver(never);
  };
  return { notifications, clock, run };
}

/** A new alert, kept as the service keeps it. */
export async function raise(storage: Storage, kind: AlertKind, subject: string, at = NIGHT): Promise<void> {
  await storage.alerts.save([
    {
      alert: {
        siteId: 'home',
        kind,
        houseId: 'north',
        subject,
        outcome: null,
        machine: { state: 'firing', pendingSince: at, firedAt: at, toldLevel: 1, level: 1, seenAt: at, knew: true },
        detail: { text: { title: `${kind} ${subject}`, reason: 'Because.', whatToDo: 'Look.' }, batchIds: [] },
      } as never,
      events: [{ at, what: 'new', by: null }],
    },
  ]);
}
export const titles = (sent: readonly { message: Message }[]) => sent.map(({ message }) => message.title);
