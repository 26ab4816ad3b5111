import { LeafturnError, problemLine } from '../domain/errors.js';
import { matchTopic } from '../domain/topics.js';
import { excerptOf } from '../ingest/decode.js';
import type { IncomingMessage } from '../ingest/intake.js';
import type { BrokerLink } from '../ingest/link.js';
import type { Refusal } from '../storage/repositories.js';
import type { Forecasts } from './forecasts.js';
import { parsePushed } from './pushed.js';

export interface ListeningParts {
  readonly link: Pick<BrokerLink, 'listen'>;
  readonly forecasts: Pick<Forecasts, 'push'>;
  /** One `+`, where the id of the site stands. */
  readonly topic: string;
  /** Takes what was no forecast, with the reason. */
  readonly refuse: (refusal: Refusal) => void;
}

/** What the sender has to mend; anything else is ours, and the message comes again. */
const SENDERS_OWN: readonly string[] = ['invalid-input', 'conflict', 'not-found'];
const REASON = 'forecast-refused';
const LINES_TOLD = 3;

/** Takes forecasts that other programs hand over by MQTT. A message is acknowledged once its forecast is on disk. */
export function listenForForecasts({ link, forecasts, topic, refuse }: ListeningParts): Promise<void> {
  const levels = topic.split('/');
  return link.listen(topic, async (message: IncomingMessage) => {
    // That is how a retained message is taken back.
    if (message.payload.length === 0) return;
    const siteId = matchTopic(levels, message.topic.split('/'))?.[0] ?? '';
    try {
      const forecast = parsePushed(message.payload);
      if (message.retain && forecast.issuedAt === undefined)
        throw new LeafturnError(
          'invalid-input',
          'The broker had kept this forecast, and it does not say when it was made.',
          [
            {
              path: '/issuedAt',
              expected: 'the time at which the forecast was made',
              got: 'nothing',
              mend: 'Send issuedAt along, or do not have it kept.',
            },
          ],
        );
      await forecasts.push(siteId, forecast, 'over MQTT', message.receivedAt);
    } catch (error) {
      if (!(error instanceof LeafturnError) || !SENDERS_OWN.includes(error.code)) throw error;
      refuse({
        at: message.receivedAt,
        topic: message.topic,
        siteId: error.code === 'not-found' ? null : siteId,
        sensorId: null,
        quantity: null,
        reason: REASON,
        sentence: [error.message, ...error.problems.slice(0, LINES_TOLD).map(problemLine)].join(' '),
        excerpt: excerptOf(message.payload),
      });
    }
  });
}
