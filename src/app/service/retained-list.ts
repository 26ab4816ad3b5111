import type { Logger } from 'pino';
import type { Round } from '../../domain/verdict.js';
import type { BrokerLink } from '../../ingest/link.js';

/** The list as other programs get it over MQTT: what to do, without the reasons; these are at the API. */
export function retainedList(round: Round): object {
  return {
    site: round.siteId,
    day: round.day,
    revision: round.revision,
    madeAt: new Date(round.madeAt).toISOString(),
    counts: round.counts,
    tasks: round.tasks
      .filter(({ done }) => !done)
      .map(({ kind, houseId, benches, batches, until }) => ({
        task: kind,
        house: houseId,
        benches: benches.map(({ benchId }) => benchId),
        batches,
        ...(until !== undefined && { until }),
      })),
    houses: round.houses.map((house) => ({
      house: house.houseId,
      lines: house.lines.map((line) => ({
        line: line.lineId,
        action: line.action,
        amount: line.amount,
        litres: line.litres,
        ...(line.minutes !== undefined && { minutes: line.minutes }),
        batches: line.batches
          .filter(({ verdict }) => verdict.amount !== 'none' || verdict.inspect)
          .map(({ batchId, benchId, potCount, verdict }) => ({
            batch: batchId,
            bench: benchId,
            pots: potCount,
            amount: verdict.amount,
            mlPerPot: verdict.mlPerPot,
            ...(verdict.inspect && { lookFirst: true }),
          })),
      })),
    })),
  };
}

/** Publishes the newest list of a site as a retained message. A broker that is away gets it when it is back. */
export const publishList = (
  link: Pick<BrokerLink, 'publish'>,
  topicBase: string,
  round: Round,
  logger: Logger,
): Promise<void> =>
  link
    .publish(`${topicBase}/${round.siteId}/list`, JSON.stringify(retainedList(round)), { retain: true, qos: 1 })
    .catch((error) => logger.warn({ err: error, site: round.siteId }, 'the list could not be published'));
