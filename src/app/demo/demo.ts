import type { Config } from '../../config.js';
import { LeafturnError } from '../../domain/errors.js';
import type { JournalEntry, JournalEventInput } from '../../domain/journal.js';
import type { Site } from '../../domain/site.js';
import { addDays, type LocalDay, localDayBounds, localDayOf } from '../../domain/time.js';
import type { Clock } from '../clock.js';
import { type DemoMessage, type MessagesAt, sensorsOf } from './messages.js';
import { type DemoForecast, FORECAST_DAYS, type ForecastIssuedAt, forecastsOf, issuesBetween } from './outlook.js';
import { DEMO_SITES, type DemoSite } from './scenario.js';
import { seasonAt } from './season.js';
import { tellStory } from './story.js';
import type { StoryEntry } from './telling.js';
import { DAY_MS, solarDayOf, type WeatherEvent, weatherOf } from './weather.js';

export type { DemoMessage } from './messages.js';

/** What a draft of the keeper is made of. */
export interface DemoDraft {
  readonly event: JournalEventInput;
  readonly happenedAt: number;
  readonly note?: string;
}

/** Takes readings the way messages from the broker are taken; resolves once they are on disk. */
export type CommitMessages = (messages: readonly DemoMessage[]) => Promise<void>;
/** Writes entries of one person, entered at one time, the way people's entries are written. */
export type AppendJournal = (
  siteId: string,
  drafts: readonly DemoDraft[],
  meta: { readonly by: string; readonly enteredAt: number },
) => Promise<readonly Pick<JournalEntry, 'id'>[]>;
/** Hands a forecast over the way other programs do. */
export type HandOver = (forecast: DemoForecast) => Promise<unknown>;
export type OnProgress = (done: number, total: number) => void;
/** Sends one message to the broker, as a sensor would. */
export type Publish = (topic: string, payload: string) => Promise<void>;

export interface DemoOptions {
  readonly config: Pick<Config, 'sites' | 'catalogue' | 'demo' | 'forecast'>;
  /** Left out: the seed of the site file. */
  readonly seed?: number;
  /** UTC, ms. */
  readonly now: number;
  /** Of a demo that goes on: the instant it began (its first journal entry). */
  readonly begunAt?: number;
}

export interface HistoryOptions {
  /** Of a demo that goes on: the newest reading there is; only what is missing since is made. */
  readonly since?: number;
  /** Left out: no forecasts. */
  readonly handOver?: HandOver;
}

export interface Demo {
  /** First instant of the history, UTC ms. */
  readonly startMs: number;
  /** Journal and readings up to `now`. */
  history(
    commit: CommitMessages,
    append: AppendJournal,
    onProgress?: OnProgress,
    options?: HistoryOptions,
  ): Promise<void>;
  /** Sends readings as the clock runs, until the signal is aborted. */
  live(publish: Publish, clock: Clock, signal: AbortSignal): Promise<void>;
}

/** About as many messages as one transaction takes well. */
const MESSAGES_PER_COMMIT = 2000;
/** The sensors of a running demo speak once a minute, unless the clock runs too fast for that. */
const LIVE_EVERY_MS = 60_000;
/** Readings older than this are not sent any more. */
const CATCH_UP_MS = 2 * DAY_MS;

/** The demo of a site file: everything in it follows from the seed, the sites and the day it began. */
export function createDemo(options: DemoOptions): Demo {
  const { config, now } = options;
  if (!config.demo)
    throw new LeafturnError('invalid-input', 'This site file is not the demo’s.', [
      {
        path: 'demo',
        expected: 'a section `demo`',
        got: 'nothing',
        mend: 'A real site never gets invented readings. Use config/demo.yaml for the demo.',
      },
    ]);
  const { historyDays, readingMinutes } = config.demo;
  const seed = options.seed ?? config.demo.seed;
  const everyMs = readingMinutes * 60_000;
  const sites = config.sites.map((site) => demoSite(site, config, seed, firstDayOf(site, options, historyDays)));
  const startMs = Math.min(...sites.map((site) => site.startMs));

  async function history(
    commit: CommitMessages,
    append: AppendJournal,
    onProgress: OnProgress = () => {},
    { since, handOver }: HistoryOptions = {},
  ): Promise<void> {
    const stories = since === undefined ? sites.map((site) => site.story) : [];
    const batches = stories.flatMap(togetherEntered);
    const firstStep = Math.ceil(Math.max(startMs, since === undefined ? startMs : since + 1) / everyMs);
    const lastStep = Math.floor(now / everyMs);
    // A journal entry takes about as long as a step of readings.
    const total = batches.length + Math.max(0, lastStep - firstStep + 1);
    let done = 0;
    // Late messages wait until the moment they arrive.
    let waiting: DemoMessage[] = [];
    let ready: DemoMessage[] = [];
    for (let step = firstStep; step <= lastStep; step++) {
      const atMs = step * everyMs;
      const arrived = [...waiting, ...sites.flatMap((site) => site.messagesAt(atMs))];
      waiting = arrived.filter(({ receivedAt }) => receivedAt > atMs + everyMs);
      ready.push(...arrived.filter(({ receivedAt }) => receivedAt <= atMs + everyMs));
      done++;
      if (ready.length >= MESSAGES_PER_COMMIT || step === lastStep) {
        await commit(ready);
        ready = [];
        onProgress(done, total);
      }
    }
    if (handOver) {
      const issues = issuesBetween(Math.max(since ?? startMs, now - FORECAST_DAYS * DAY_MS), now);
      for (const issuedAt of issues) for (const site of sites) await handOver(site.forecastAt(issuedAt));
    }
    // The journal comes last: a demo stopped half-way has none, and begins anew without anything twice.
    const ids = new Map<string, number>();
    for (const batch of batches) {
      await writeEntries(batch, ids, append);
      onProgress(++done, total);
    }
  }

  async function live(publish: Publish, clock: Clock, signal: AbortSignal): Promise<void> {
    const liveEveryMs = clock.speed > 60 ? everyMs : LIVE_EVERY_MS;
    let waiting: DemoMessage[] = [];
    // A fast clock has run on while the history was written: the sensors begin where that ended.
    let next = (Math.floor(now / liveEveryMs) + 1) * liveEveryMs;
    while (!signal.aborted) {
      try {
        await clock.waitUntil(next, signal);
      } catch (reason) {
        if (signal.aborted) return;
        throw reason;
      }
      const arrived = [...waiting, ...sites.flatMap((site) => site.messagesAt(next))];
      waiting = arrived.filter(({ receivedAt }) => receivedAt > next + liveEveryMs);
      const due = arrived.filter(({ receivedAt }) => receivedAt <= next + liveEveryMs);
      await Promise.all(due.map(({ topic, payload }) => publish(topic, payload)));
      const { pushedTopic } = config.forecast;
      if (pushedTopic !== undefined)
        for (const issuedAt of issuesBetween(next - liveEveryMs, next))
          for (const site of sites)
            await publish(pushedTopic.replace('+', site.siteId), JSON.stringify(site.forecastAt(issuedAt).body));
      // After a long sleep of the machine a gap is left, as real sensors would have left one.
      next = Math.max(next + liveEveryMs, Math.floor((clock.now() - CATCH_UP_MS) / liveEveryMs) * liveEveryMs);
    }
  }

  return { startMs, history, live };
}

function firstDayOf(site: Site, { now, begunAt }: DemoOptions, historyDays: number): LocalDay {
  return begunAt === undefined ? addDays(localDayOf(site.zone, now), -historyDays) : localDayOf(site.zone, begunAt);
}

interface SiteOfDemo {
  readonly siteId: string;
  readonly startMs: number;
  readonly story: readonly StoryEntry[];
  readonly messagesAt: MessagesAt;
  readonly forecastAt: ForecastIssuedAt;
}

function demoSite(site: Site, config: DemoOptions['config'], seed: number, firstDay: LocalDay): SiteOfDemo {
  const demo = DEMO_SITES.find((candidate) => candidate.siteId === site.id);
  if (!demo)
    throw new LeafturnError('invalid-input', `The demo knows nothing of the site ${site.id}.`, [
      {
        path: 'sites',
        expected: `the sites ${DEMO_SITES.map(({ siteId }) => siteId).join(' and ')}`,
        got: site.id,
        mend: 'Use config/demo.yaml as it came; for a site of your own leave out `demo`.',
      },
    ]);
  const lastDay = addDays(firstDay, config.demo?.historyDays ?? 0);
  const story = tellStory({ site, demo, catalogue: config.catalogue, seed, firstDay, lastDay });
  const startMs = localDayBounds(site.zone, firstDay).startMs;
  const weather = weatherOf(site, seed, weatherEvents(site, localDayBounds(site.zone, lastDay).startMs));
  const drinks = new Map(demo.benches.map((bench) => [bench.id, drinksOfBench(demo, bench.id, story)]));
  const messagesAt = sensorsOf({
    site,
    demo,
    catalogue: config.catalogue,
    weather,
    seed,
    startMs,
    drinksOf: (benchId) => drinks.get(benchId) ?? [],
  });
  return { siteId: site.id, startMs, story, messagesAt, forecastAt: forecastsOf(site, weather, seed) };
}

/** Weather worth an alert round the day the demo begins: heat in the warm half of the year, a cold wet night in the cold. */
function weatherEvents(site: Site, lastDayMs: number): WeatherEvent[] {
  const day = solarDayOf(site, lastDayMs + 43_200_000);
  const season = seasonAt(lastDayMs, site.latitude);
  const warm = season >= 210 && season < 350;
  return warm
    ? [{ firstDay: day - 2, lastDay: day + 2, warmerC: 10, clearness: 0.97 }]
    : [{ firstDay: day - 1, lastDay: day + 1, warmerC: -2, clearness: 0.06, dewDepressionC: 0.2 }];
}

/** A probe stands among the pots that are watered most on its bench: it feels every drink. */
function drinksOfBench(demo: DemoSite, benchId: string, story: readonly StoryEntry[]): { at: number; full: boolean }[] {
  const first = demo.batches.findIndex((batch) => batch.benchId === benchId);
  if (first < 0) return [];
  const firstBatch = `${benchId}-01`;
  return story
    .flatMap(({ event, happenedAt }) =>
      event.kind === 'watering' && event.batchIds.includes(firstBatch)
        ? [{ at: happenedAt, full: event.amount === 'full' }]
        : [],
    )
    .sort((a, b) => a.at - b.at);
}

/** Entries of one person that were entered at one time go into the journal together. */
function togetherEntered(story: readonly StoryEntry[]): StoryEntry[][] {
  const batches: StoryEntry[][] = [];
  for (const entry of story) {
    const last = batches.at(-1);
    const before = last?.[0];
    const alike = before && before.by === entry.by && before.enteredAt === entry.enteredAt;
    // What is taken back must be in the journal already.
    if (last && alike && entry.event.kind !== 'take-back') last.push(entry);
    else batches.push([entry]);
  }
  return batches;
}

async function writeEntries(
  entries: readonly StoryEntry[],
  ids: Map<string, number>,
  append: AppendJournal,
): Promise<void> {
  const [first] = entries;
  if (!first) return;
  const drafts = entries.map(({ siteId, event, happenedAt, note }): DemoDraft => {
    const more = { happenedAt, ...(note !== undefined && { note }) };
    if (event.kind !== 'take-back') return { event, ...more };
    const entryId = ids.get(`${siteId}/${event.tag}`);
    if (entryId === undefined) throw new Error(`The story takes back ${event.tag} before it happened.`);
    return { event: { kind: 'undo', entryId, reason: event.reason }, ...more };
  });
  const written = await append(first.siteId, drafts, { by: first.by, enteredAt: first.enteredAt });
  entries.forEach(({ siteId, tag }, index) => {
    const id = written[index]?.id;
    if (tag !== undefined && id !== undefined) ids.set(`${siteId}/${tag}`, id);
  });
}
