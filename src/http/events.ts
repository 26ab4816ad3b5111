import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { z } from 'zod';
import type { AlertEvent } from '../domain/alerts.js';
import type { JournalEntry } from '../domain/journal.js';
import { idSchema } from '../domain/site.js';
import type { Round } from '../domain/verdict.js';
import type { HttpLimits, ServiceDeps } from './deps.js';
import { siteOf } from './lookup.js';
import { HttpProblem } from './problem.js';

/** A client that missed more than this reads the lists again instead. */
const REPLAY_LIMIT = 500;
/** A client that does not take what it is sent is dropped; it comes back with the id of the last it took. */
const UNSENT_LIMIT_BYTES = 256 * 1024;

/** Place in the stream: the newest entry, the newest round and the newest event of an alert a client has been told of. */
interface Position {
  readonly journalId: number;
  readonly roundMadeAt: number;
  readonly alertEventId: number;
}
const idOf = ({ journalId, roundMadeAt, alertEventId }: Position): string =>
  `${journalId}-${roundMadeAt}-${alertEventId}`;
/** Ids of earlier versions knew no alerts. */
function positionFrom(id: unknown): Position | undefined {
  const [, journalId, roundMadeAt, alertEventId] =
    /^(\d{1,15})-(\d{1,15})(?:-(\d{1,15}))?$/.exec(String(id ?? '')) ?? [];
  return journalId === undefined
    ? undefined
    : { journalId: Number(journalId), roundMadeAt: Number(roundMadeAt), alertEventId: Number(alertEventId ?? 0) };
}

/** What a round event says; the round itself is fetched, and a client may have it already. */
const roundNotice = (round: Round) => ({
  siteId: round.siteId,
  day: round.day,
  revision: round.revision,
  madeAt: round.madeAt,
  counts: round.counts,
  changes: round.changes,
});

class Client {
  readonly #reply: FastifyReply['raw'];
  readonly #siteId: string | undefined;
  /** What the client knew before, and the newest it has been sent since. */
  #before: Position = { journalId: 0, roundMadeAt: 0, alertEventId: 0 };
  #position: Position = this.#before;
  /** Told already: an entry may come both from the journal and as news. */
  readonly #told = new Set<string>();
  /** News waits while missed events are being read, so that the order holds. */
  #waiting: (() => void)[] | null = [];

  constructor(reply: FastifyReply['raw'], siteId: string | undefined) {
    this.#reply = reply;
    this.#siteId = siteId;
  }

  wants(siteId: string): boolean {
    return this.#siteId === undefined || this.#siteId === siteId;
  }

  begin(before: Position): void {
    this.#before = before;
    this.#position = before;
  }

  entry(entry: JournalEntry): void {
    if (entry.id <= this.#before.journalId || this.#again(`entry ${entry.id}`)) return;
    // Two sites may tell their entries the other way round; the place in the stream never goes back.
    this.#position = { ...this.#position, journalId: Math.max(this.#position.journalId, entry.id) };
    this.#write('journal', entry);
  }

  round(round: Round): void {
    if (round.madeAt <= this.#before.roundMadeAt) return;
    if (this.#again(`round ${round.siteId} ${round.day} ${round.revision}`)) return;
    this.#position = { ...this.#position, roundMadeAt: Math.max(this.#position.roundMadeAt, round.madeAt) };
    this.#write('round', roundNotice(round));
  }

  alert(event: AlertEvent): void {
    if (event.id <= this.#before.alertEventId || this.#again(`alert ${event.id}`)) return;
    this.#position = { ...this.#position, alertEventId: Math.max(this.#position.alertEventId, event.id) };
    this.#write('alert', event);
  }

  /** The client missed too much: it should read again what it shows. */
  reset(position: Position): void {
    this.begin(position);
    this.#write('reset', { reason: 'More happened than is sent again. Read the lists anew.' });
  }

  later(send: () => void): void {
    if (this.#waiting) this.#waiting.push(send);
    else send();
  }

  caughtUp(): void {
    const waiting = this.#waiting ?? [];
    this.#waiting = null;
    for (const send of waiting) send();
    // Nothing told from here on is older than what was read.
    this.#told.clear();
  }

  beat(): void {
    this.#send(': still here\n\n');
  }

  end(): void {
    this.#reply.end();
  }

  #again(what: string): boolean {
    if (this.#waiting === null) return this.#told.has(what);
    const again = this.#told.has(what);
    this.#told.add(what);
    return again;
  }

  #write(event: string, data: unknown): void {
    this.#send(`event: ${event}\nid: ${idOf(this.#position)}\ndata: ${JSON.stringify(data)}\n\n`);
  }

  #send(text: string): void {
    if (!this.#reply.headersSent || this.#reply.destroyed || this.#reply.writableEnded) return;
    if (this.#reply.writableLength > UNSENT_LIMIT_BYTES) this.#reply.destroy();
    else this.#reply.write(text);
  }
}

const description = `A stream of server-sent events. \`journal\`: an entry was made; the data is the entry. \`round\`: a
new revision of a list; the data says which, fetch it at its address. \`alert\`: what happened to an alert (new, worse,
over, acknowledged, snoozed, unsnoozed, ended, turned-out), with the alert. \`reset\`: too much was missed, read the lists
anew. A client that comes back with \`Last-Event-ID\` is sent what it missed.`.replaceAll('\n', ' ');

/** `GET /events`: what changed, as it changes. */
export function eventRoutes(app: FastifyInstance, deps: ServiceDeps, limits: HttpLimits): void {
  const clients = new Set<Client>();
  const tell = (siteId: string, send: (client: Client) => void): void => {
    for (const client of clients) if (client.wants(siteId)) client.later(() => send(client));
  };
  const stopEntries = deps.keeper.onEntry((entries) => {
    for (const entry of entries) tell(entry.siteId, (client) => client.entry(entry));
  });
  const stopRounds = deps.rounds.onRound((round) => tell(round.siteId, (client) => client.round(round)));
  const stopAlerts = deps.alerts.onEvent((event) => tell(event.siteId, (client) => client.alert(event)));
  const heartbeat = setInterval(() => {
    for (const client of clients) client.beat();
  }, limits.heartbeatMs);
  heartbeat.unref();
  // Before the server waits for its connections to end: these never end by themselves.
  app.addHook('preClose', async () => {
    clearInterval(heartbeat);
    stopEntries();
    stopRounds();
    stopAlerts();
    for (const client of clients) client.end();
  });

  app.get(
    '/events',
    {
      config: { role: 'read' },
      schema: {
        tags: ['changes'],
        summary: 'Changes as they happen',
        description,
        querystring: z.strictObject({ site: idSchema.optional().describe('Only this site.') }),
        produces: ['text/event-stream'],
      },
    },
    async (request, reply) => {
      const { site } = request.query as { site?: string };
      if (site !== undefined) siteOf(deps, site);
      if (clients.size >= limits.eventClients)
        throw new HttpProblem('not-ready', `${limits.eventClients} clients are listening, which is the most.`, [], {
          'retry-after': '30',
        });
      const client = new Client(reply.raw, site);
      clients.add(client);
      reply.raw.on('close', () => clients.delete(client));
      const before = positionFrom(request.headers['last-event-id']);
      try {
        client.begin(before ?? (await here(site)));
      } catch (error) {
        clients.delete(client);
        throw error;
      }
      open(request, reply);
      try {
        await catchUp(client, site, before);
        client.caughtUp();
      } catch (error) {
        // The answer has begun: the client comes back with the id of the last it took.
        request.log.error({ err: error }, 'missed events could not be read');
        client.end();
      }
    },
  );

  function open(request: FastifyRequest, reply: FastifyReply): void {
    reply.hijack();
    reply.raw.writeHead(200, {
      ...(reply.getHeaders() as Record<string, string>),
      'content-type': 'text/event-stream; charset=utf-8',
      'cache-control': 'no-store',
      'x-accel-buffering': 'no',
    });
    request.raw.socket.setTimeout(0);
    reply.raw.write('retry: 3000\n\n');
  }

  const sitesOf = (site: string | undefined) => deps.sites().filter(({ id }) => site === undefined || site === id);

  /** Where a client without a past begins: everything so far counts as told. */
  async function here(site: string | undefined): Promise<Position> {
    const newest = await Promise.all(
      sitesOf(site).map(async ({ id }) => ({
        journalId: (await deps.keeper.collection(id)).journalId,
        roundMadeAt: (await deps.rounds.latest(id, deps.rounds.today(id)))?.madeAt ?? 0,
      })),
    );
    return {
      journalId: Math.max(0, ...newest.map(({ journalId }) => journalId)),
      roundMadeAt: Math.max(0, ...newest.map(({ roundMadeAt }) => roundMadeAt)),
      alertEventId: await deps.storage.alerts.lastEventId(),
    };
  }

  async function catchUp(client: Client, site: string | undefined, from: Position | undefined): Promise<void> {
    if (!from) return;
    const missed = await Promise.all(
      sitesOf(site).map(({ id }) =>
        deps.storage.journal.list({ siteId: id, afterId: from.journalId, limit: REPLAY_LIMIT + 1 }),
      ),
    );
    const entries = missed.flat().sort((a, b) => a.id - b.id);
    const alerts = await deps.storage.alerts.events({
      ...(site !== undefined && { siteId: site }),
      afterId: from.alertEventId,
      limit: REPLAY_LIMIT + 1,
    });
    if (Math.max(entries.length, alerts.length) > REPLAY_LIMIT) return client.reset(await here(site));
    for (const entry of entries) client.entry(entry);
    for (const event of alerts) client.alert(event);
    const rounds = await Promise.all(sitesOf(site).map(({ id }) => deps.rounds.latest(id, deps.rounds.today(id))));
    for (const round of rounds.sort((a, b) => (a?.madeAt ?? 0) - (b?.madeAt ?? 0)))
      if (round && round.madeAt > from.roundMadeAt) client.round(round);
  }
}
