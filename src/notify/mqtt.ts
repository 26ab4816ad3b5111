import type { Alert } from '../domain/alerts.js';
import type { Channel } from './channel.js';
import { payloadOf } from './webhook.js';
import { within } from './within.js';

/** As much of a broker as is needed here. */
export interface Publisher {
  publish(topic: string, payload: string, options: { readonly retain?: boolean; readonly qos?: 0 | 1 }): Promise<void>;
}

const TIMEOUT_MS = 20_000;

/** Replaces what the broker keeps of a site's open alerts, for other programs. */
export const publishAlerts = (
  link: Publisher,
  topicBase: string,
  siteId: string,
  alerts: readonly Alert[],
  at: number,
): Promise<void> =>
  link.publish(
    `${topicBase}/${siteId}/alerts`,
    JSON.stringify({ site: siteId, at: new Date(at).toISOString(), alerts }),
    { retain: true, qos: 1 },
  );

/** The broker as a channel: it keeps the alerts in any case, so that only a test is sent over it as a message. */
export const createMqtt = (link: Publisher, topicBase: string, timeoutMs = TIMEOUT_MS): Channel => ({
  name: 'mqtt',
  kind: 'mqtt',
  address: topicBase,
  recipients: [''],
  takes: () => false,
  send: async (message, _recipient, _at, signal) => {
    try {
      const payload = JSON.stringify(payloadOf(message));
      await within(link.publish(`${topicBase}/${message.siteId}/test`, payload, { qos: 1 }), timeoutMs, signal);
      return { kind: 'sent' };
    } catch (error) {
      if (signal.aborted) throw error;
      const { name, message: words } = error as Error;
      return {
        kind: 'failed',
        trouble:
          name === 'TimeoutError'
            ? `The broker did not take it within ${timeoutMs / 1000} seconds.`
            : `The broker did not take it: ${words}`,
      };
    }
  },
});
