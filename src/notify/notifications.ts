import { LeafturnError } from '../domain/errors.js';
import type { Message, QuietHours } from '../domain/messages.js';
import { didYouMean } from '../domain/problems.js';
import type { Site } from '../domain/site.js';
import type { ChannelState, Delivery, NewDelivery, Storage } from '../storage/repositories.js';
import { type Channel, isFor, type Outcome } from './channel.js';
import { messageOf, summaryOf, testMessage } from './message.js';
import { quietUntil } from './quiet-hours.js';
import { nextTryAt } from './timing.js';

export interface NotificationParts {
  readonly storage: Pick<Storage, 'alerts' | 'notifications'>;
  sites(): readonly Site[];
  channels(): readonly Channel[];
  /** Undefined: the site has none. */
  quietHours(siteId: string): QuietHours | undefined;
  now(): number;
  /** From 0 up to 1. */
  random(): number;
  /** New each time, letters, digits and underscores. */
  newId(): string;
  readonly onTrouble?: (channel: string, trouble: string) => void;
}

export interface ChannelView extends ChannelState {
  readonly name: string;
  readonly kind: Channel['kind'];
  readonly address: string;
}

export interface Notifications {
  /** Makes messages of what happened to alerts since the last time. */
  takeIn(): Promise<void>;
  /** Sends what is due. Resolves with the instant at which the next is due, undefined: none waits. */
  deliver(signal: AbortSignal): Promise<number | undefined>;
  /** @param siteId only those for this site */
  channels(siteId?: string): Promise<ChannelView[]>;
  /**
   * Sends a test at once, whatever the hour, and says what came of it for each recipient, at the latest when the channel
   * gives up waiting.
   * @param siteId left out: the first the channel is for. Throws a LeafturnError when it is for no such site.
   */
  test(channel: string, by: string, siteId?: string): Promise<{ recipient: string; outcome: Outcome }[]>;
  dead(query: { siteId?: string; channel?: string; beforeId?: number; limit: number }): Promise<Delivery[]>;
  /** To be tried again from the start. Throws a LeafturnError when it was not given up. */
  sendAgain(id: number): Promise<Delivery>;
}

const EVENTS_AT_ONCE = 500;
const DUE_AT_ONCE = 200;
/** What comes at once for one channel and site is told one by one up to here. */
const SINGLE_MESSAGES_AT_MOST = 3;
/** After a failure the channel is left alone for this long, so that a dead server is not asked for every message. */
const REST_MS = 60_000;

type Trying = (work: () => Promise<void>) => Promise<void>;

export function createNotifications(parts: NotificationParts): Notifications {
  const { now } = parts;
  const store = parts.storage.notifications;
  const restUntil = new Map<string, number>();
  /** By delivery, what came of a try and could not be written down, the disk being full: it must not be sent again for that. */
  const unwritten = new Map<number, () => Promise<void>>();
  const siteOf = (id: string): Site | undefined => parts.sites().find((site) => site.id === id);

  function channelOf(name: string): Channel {
    const channels = parts.channels();
    const channel = channels.find((one) => one.name === name);
    if (channel) return channel;
    const names = channels.map((one) => one.name);
    throw new LeafturnError('not-found', `There is no channel ${name}. ${didYouMean(name, names) ?? ''}`.trim());
  }

  /** One of several from one site, where they are too many to be read one by one. */
  function bundled(messages: readonly Message[], at: number): Message[] {
    const groups = groupBy(messages, ({ siteId, dangerous }) => `${siteId} ${dangerous}`);
    return [...groups.values()].flatMap((group) => {
      const site = siteOf(group[0]?.siteId ?? '');
      return site && group.length > SINGLE_MESSAGES_AT_MOST ? [summaryOf(group, site, at, parts.newId())] : group;
    });
  }

  async function takeIn(): Promise<void> {
    for (;;) {
      const from = await store.toldUntil();
      const events = await parts.storage.alerts.events({ afterId: from, limit: EVENTS_AT_ONCE });
      const until = events.at(-1)?.id;
      if (until === undefined) return;
      const at = now();
      const messages = events.flatMap((event) => {
        const site = siteOf(event.siteId);
        return (site && messageOf(event, site, parts.newId())) ?? [];
      });
      const deliveries: NewDelivery[] = parts.channels().flatMap((channel) =>
        bundled(
          messages.filter((message) => channel.takes(message)),
          at,
        ).flatMap((message) =>
          channel.recipients.map((recipient) => ({ channel: channel.name, recipient, message, at })),
        ),
      );
      if (!(await store.takeIn(deliveries, { from, until }))) return;
    }
  }

  const quietEnd = ({ siteId, dangerous }: Message, at: number): number | null => {
    const [site, quiet] = [siteOf(siteId), parts.quietHours(siteId)];
    return dangerous || !site || !quiet ? null : quietUntil(quiet, site.zone, at);
  };

  /** What may not be sent now is held; what was held for the same person is made one. */
  async function ready(due: readonly Delivery[], at: number, trying: Trying): Promise<Delivery[]> {
    const free: Delivery[] = [];
    for (const delivery of due) {
      const end = quietEnd(delivery.message, at);
      if (end === null) free.push(delivery);
      else await trying(() => store.hold(delivery.id, end));
    }
    const wasHeld = ({ held, message }: Delivery): boolean => held && !message.dangerous;
    const sendable = free.filter((delivery) => !wasHeld(delivery));
    const groups = groupBy(free.filter(wasHeld), ({ channel, recipient, message }) =>
      JSON.stringify([channel, recipient, message.siteId]),
    );
    for (const group of groups.values()) {
      const [first] = group;
      const site = siteOf(first?.message.siteId ?? '');
      if (!first || !site || group.length < 2) {
        sendable.push(...group);
        continue;
      }
      const messages = group.map(({ message }) => message);
      const { channel, recipient } = first;
      const ids = group.map(({ id }) => id);
      const message = summaryOf(messages, site, at, parts.newId());
      await trying(async () => {
        sendable.push(await store.join(ids, { channel, recipient, message, at, held: true }));
      });
    }
    return sendable.sort((a, b) => Number(b.message.dangerous) - Number(a.message.dangerous));
  }

  async function write(id: number, work: () => Promise<void>): Promise<void> {
    unwritten.set(id, work);
    await work();
    unwritten.delete(id);
  }

  async function tryOne(delivery: Delivery, signal: AbortSignal): Promise<void> {
    const channel = parts.channels().find(({ name }) => name === delivery.channel);
    const outcome: Outcome =
      channel?.recipients.includes(delivery.recipient) === true
        ? await channel.send(delivery.message, delivery.recipient, now(), signal)
        : { kind: 'refused', trouble: `${delivery.recipient || delivery.channel} is no longer in the site file.` };
    const at = now();
    if (outcome.kind === 'sent') return write(delivery.id, () => store.sent(delivery, at));
    const { trouble } = outcome;
    parts.onTrouble?.(delivery.channel, trouble);
    if (outcome.kind === 'refused')
      return write(delivery.id, () => store.failed(delivery, { at, trouble, nextAt: null }));
    const nextAt = nextTryAt(at, delivery.tries + 1, outcome.notBeforeMs ?? 0, parts.random());
    restUntil.set(delivery.channel, Math.min(nextAt ?? at + REST_MS, at + REST_MS));
    return write(delivery.id, () => store.failed(delivery, { at, trouble, nextAt }));
  }

  async function deliver(signal: AbortSignal): Promise<number | undefined> {
    const troubles: unknown[] = [];
    // What fails for one message costs the others nothing, and is told when they are through.
    const trying: Trying = (work) => work().catch((error: unknown) => void troubles.push(error));
    for (const [id, work] of [...unwritten]) await trying(() => write(id, work));
    const at = now();
    const rests = (channel: string): boolean => (restUntil.get(channel) ?? 0) > now();
    const except = [...restUntil.keys()].filter(rests);
    const due = await store.due(at, DUE_AT_ONCE + unwritten.size, { except });
    const open = due.filter(({ id }) => !unwritten.has(id));
    const byChannel = groupBy(await ready(open, at, trying), ({ channel }) => channel);
    // One server that hangs does not hold up the others.
    await Promise.all(
      [...byChannel].map(async ([channel, deliveries]) => {
        for (const delivery of deliveries) {
          if (rests(channel) || signal.aborted) return;
          await trying(() => tryOne(delivery, signal));
        }
      }),
    );
    if (troubles.length > 0) throw troubles[0];
    const next = await store.nextAt();
    if (next === undefined || next > now()) return next;
    return Math.min(...[...restUntil.values()].filter((until) => until > now()), now() + REST_MS);
  }

  return {
    takeIn,
    deliver,
    channels: async (siteId) => {
      const states = await store.channels();
      const none = { lastSentAt: null, lastTrouble: null, lastTroubleAt: null, waiting: 0, dead: 0 };
      return parts
        .channels()
        .filter((channel) => siteId === undefined || isFor(channel, siteId))
        .map(({ name, kind, address }) => ({ name, kind, address, ...(states.get(name) ?? none) }));
    },
    test: async (name, by, siteId) => {
      const channel = channelOf(name);
      const site = parts.sites().find(({ id }) => isFor(channel, id) && (siteId === undefined || id === siteId));
      if (!site)
        throw new LeafturnError(
          'not-found',
          `The channel ${name} is not for ${siteId === undefined ? 'any site' : `the site ${siteId}`}.`,
        );
      // The channel's own time-outs end it.
      const { signal } = new AbortController();
      const message = testMessage(site, name, by, now(), parts.newId());
      return Promise.all(
        channel.recipients.map(async (recipient) => {
          const outcome = await channel.send(message, recipient, now(), signal);
          const at = now();
          await store.note(name, outcome.kind === 'sent' ? { sentAt: at } : { trouble: outcome.trouble, at });
          return { recipient, outcome };
        }),
      );
    },
    dead: (query) => store.dead(query),
    sendAgain: async (id) => {
      const delivery = await store.get(id);
      if (!delivery) throw new LeafturnError('not-found', `There is no delivery ${id}.`);
      channelOf(delivery.channel);
      if (!(await store.revive(id, now())))
        throw new LeafturnError('conflict', `The delivery ${id} was not given up: it is ${delivery.state}.`);
      restUntil.delete(delivery.channel);
      return { ...delivery, state: 'waiting', tries: 0, nextAt: now() };
    },
  };
}

function groupBy<T>(items: readonly T[], keyOf: (item: T) => string): Map<string, T[]> {
  const groups = new Map<string, T[]>();
  for (const item of items) {
    const key = keyOf(item);
    const group = groups.get(key);
    if (group) group.push(item);
    else groups.set(key, [item]);
  }
  return groups;
}
