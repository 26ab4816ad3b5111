import type { Mapping } from '../domain/mapping.js';
import type { ReadingStore, SeriesInfo } from '../storage/repositories.js';
import { EmbeddedBroker, type EmbeddedBrokerOptions } from './embedded-broker.js';
import { ExternalBroker, type ExternalBrokerOptions } from './external-broker.js';
import { Intake, type IntakeOptions } from './intake.js';
import type { BrokerLink, LinkOptions } from './link.js';
import { Pipeline, type PipelineOptions, type PipelineStatus } from './pipeline.js';
import type { KnowsHouse } from './place.js';

/** Everything between a broker and the database, put together. */
export interface IngestOptions {
  readonly mappings: readonly Mapping[];
  readonly knowsHouse: KnowsHouse;
  readonly store: Pick<ReadingStore, 'commit'>;
  /** Series as stored, so that checks go on where they stopped. */
  readonly series?: readonly Pick<SeriesInfo, 'siteId' | 'sensorId' | 'quantity' | 'lastAt' | 'lastValue'>[];
  /** UTC ms. */
  readonly now: () => number;
  readonly broker:
    | ({ readonly kind: 'embedded' } & Omit<EmbeddedBrokerOptions, keyof LinkOptions>)
    | ({ readonly kind: 'external' } & Omit<ExternalBrokerOptions, keyof LinkOptions | 'topics'>);
  readonly onNotice?: IntakeOptions['onNotice'];
  readonly onCommitted?: PipelineOptions['onCommitted'];
  readonly onPipelineState?: (status: PipelineStatus) => void;
  readonly onLinkStatus?: LinkOptions['onStatus'];
}

export interface Ingest {
  readonly link: BrokerLink;
  readonly pipeline: Pipeline;
  /** Takes a changed configuration without losing what is known of the sensors. */
  configure(mappings: readonly Mapping[], knowsHouse: KnowsHouse): Promise<void>;
  /** Stops listening, commits and acknowledges what is there, and ends the connection. */
  close(): Promise<void>;
}

export const topicsOf = (mappings: readonly Pick<Mapping, 'topic'>[]): string[] => [
  ...new Set(mappings.map((mapping) => mapping.topic)),
];

export async function startIngest(options: IngestOptions): Promise<Ingest> {
  let link: BrokerLink | undefined;
  const intake = new Intake({
    mappings: options.mappings,
    knowsHouse: options.knowsHouse,
    ...(options.onNotice ? { onNotice: options.onNotice } : {}),
    // Asking a node to introduce itself again is a courtesy; when the broker is away it asks again later.
    onReply: (reply) => void link?.publish(reply.topic, reply.payload, { qos: 0 }).catch(() => {}),
  });
  if (options.series) intake.resume(options.series);
  const pipeline = new Pipeline({
    intake,
    store: options.store,
    now: options.now,
    ...(options.onCommitted ? { onCommitted: options.onCommitted } : {}),
    ...(options.onPipelineState ? { onState: options.onPipelineState } : {}),
  });
  const shared: LinkOptions = {
    pipeline,
    now: options.now,
    ...(options.onLinkStatus ? { onStatus: options.onLinkStatus } : {}),
  };
  let external: ExternalBroker | undefined;
  if (options.broker.kind === 'external') {
    external = new ExternalBroker({ ...options.broker, ...shared, topics: topicsOf(options.mappings) });
    link = external;
  } else link = await EmbeddedBroker.start({ ...options.broker, ...shared });
  const started = link;
  return {
    link: started,
    pipeline,
    configure: async (mappings, knowsHouse) => {
      intake.configure(mappings, knowsHouse);
      await external?.setTopics(topicsOf(mappings));
    },
    close: async () => {
      // Committed and acknowledged while the connection still stands; what comes after stays with the broker.
      await pipeline.close();
      await started.close();
    },
  };
}
