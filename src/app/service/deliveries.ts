import { randomUUID } from 'node:crypto';
import type { Logger } from 'pino';
import type { Alerts } from '../../advice/alerts/service.js';
import type { Config } from '../../config.js';
import type { BrokerLink } from '../../ingest/link.js';
import type { Channel } from '../../notify/channel.js';
import { createMail } from '../../notify/mail.js';
import { createMqtt, publishAlerts } from '../../notify/mqtt.js';
import { createNotifications, type Notifications } from '../../notify/notifications.js';
import { createWebhook } from '../../notify/webhook.js';
import { unlessAborted } from '../../notify/within.js';
import type { Storage } from '../../storage/repositories.js';
import type { Clock } from '../clock.js';
import { packageVersion } from '../commands/program.js';

/** What happened to alerts is looked for this often. */
const LOOK_EVERY_MS = 10_000;

/** The channels of the running service, as its site file says. */
export function openNotifications(
  config: () => Config,
  storage: Storage,
  link: () => Pick<BrokerLink, 'publish'>,
  clock: Clock,
  logger: Logger,
): Notifications {
  let made: { of: Config; channels: readonly Channel[] } | undefined;
  const program = `leafturn/${packageVersion()}`;
  const channels = (): readonly Channel[] => {
    const now = config();
    if (made?.of !== now) {
      const { mqtt, channels: settings } = now.notifications;
      const others = settings.map((one) =>
        one.kind === 'mail' ? createMail(one) : createWebhook({ ...one, program }),
      );
      made = { of: now, channels: [...(mqtt ? [createMqtt(link(), mqtt.topicBase)] : []), ...others] };
    }
    return made.channels;
  };
  return createNotifications({
    storage,
    sites: () => config().sites,
    channels,
    quietHours: (siteId) => config().notifications.quietHours[siteId],
    now: clock.now,
    random: Math.random,
    newId: () => `msg_${randomUUID().replaceAll('-', '')}`,
    onTrouble: (channel, trouble) => logger.warn({ channel, trouble }, 'a message could not be sent'),
  });
}

export interface DeliveryLoop {
  readonly notifications: Pick<Notifications, 'takeIn' | 'deliver'>;
  readonly alerts: Pick<Alerts, 'open'>;
  sites(): readonly { readonly id: string }[];
  /** Undefined: nothing is published. */
  topicBase(): string | undefined;
  readonly link: Pick<BrokerLink, 'publish' | 'status'>;
  readonly clock: Clock;
  readonly logger: Logger;
  readonly signal: AbortSignal;
}

/** Sends messages and keeps the broker's copy of the open alerts new, until the signal is aborted. */
export async function keepDelivering(parts: DeliveryLoop): Promise<void> {
  const { notifications, alerts, link, clock, logger, signal } = parts;
  /** What the broker was given last, by site, and since when it was connected then. */
  const published = new Map<string, string>();

  async function publish(): Promise<void> {
    const base = parts.topicBase();
    const { state, since } = link.status();
    if (base === undefined || state !== 'connected') return;
    for (const { id } of parts.sites()) {
      const open = await alerts.open(id);
      const mark = JSON.stringify([since, base, open]);
      if (published.get(id) === mark) continue;
      await unlessAborted(publishAlerts(link, base, id, open, clock.now()), signal);
      published.set(id, mark);
    }
  }

  async function trying<T>(work: () => Promise<T>): Promise<T | undefined> {
    try {
      return await work();
    } catch (error) {
      if (!signal.aborted) logger.error({ err: error }, 'messages could not be sent; it is tried again');
      return undefined;
    }
  }

  /** Under way: a broker that hangs may keep it so for long, and holds up nobody else. */
  let publishing: Promise<void> | undefined;
  try {
    while (!signal.aborted) {
      await trying(() => notifications.takeIn());
      publishing ??= trying(publish).finally(() => {
        publishing = undefined;
      });
      const next = (await trying(() => notifications.deliver(signal))) ?? Number.POSITIVE_INFINITY;
      if (signal.aborted) return;
      const now = clock.now();
      await clock.waitUntil(Math.max(now + 1000, Math.min(next, now + LOOK_EVERY_MS * clock.speed)), signal);
    }
  } finally {
    // The signal ends it, and the database may not be closed before.
    await publishing;
  }
}
