import type { Alert } from '../domain/alerts.js';
import type { Channel } from './channel.js';
import { payloadOf } from './webhook.js';

/** As much of a broker as is needed here. */
export interface Publisher {
  publish(topic: string, payload: string, options: { readonly retain?: boolean; readonly qos?: 0 | 1 }): Promise<void>;
}

/** The open alerts of a site as other programs get them: what is pending is not told yet. */
export function openAlerts(siteId: string, alerts: readonly Alert[], at: number): object {
  return {
    site: siteId,
    at: new Date(at).toISOString(),
    alerts: alerts.filter(({ state }) => state === 'firing' || state === 'held'),
  };
}

/** Replaces what the broker keeps of a site's alerts. */
export const publishAlerts = (
  link: Publisher,
  topicBase: string,
  siteId: string,
  alerts: readonly Alert[],
  at: number,
): Promise<void> =>
  link.publish(`${topicBase}/${siteId}/alerts`, JSON.stringify(openAlerts(siteId, alerts, at)), {
    retain: true,
    qos: 1,
  });

/** The broker as a channel: it keeps the alerts in any case, so that only a test is sent over it as a message. */
export const createMqtt = (link: Publisher, topicBase: string): Channel => ({
  name: 'mqtt',
  kind: 'mqtt',
  address: topicBase,
  recipients: [''],
  takes: () => false,
  send: async (message, _recipient, _at, signal) => {
    try {
      await link.publish(`${topicBase}/${message.siteId}/test`, JSON.stringify(payloadOf(message)), { qos: 1 });
      return { kind: 'sent' };
    } catch (error) {
      if (signal.aborted) throw error;
      return { kind: 'failed', trouble: `The broker did not take it: ${(error as Error).message}` };
    }
  },
});
