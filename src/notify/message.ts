import { type Alert, type AlertEvent, DANGEROUS_ALERTS, isTold } from '../domain/alerts.js';
import type { Message, MessageKind } from '../domain/messages.js';
import type { Site } from '../domain/site.js';
import { clockAt, localDayOf, shortDay } from '../domain/time.js';
import { count } from '../domain/wording.js';

type MessageSite = Pick<Site, 'id' | 'name' | 'zone'>;

/** A person reads a few lines on a phone; the rest is counted. */
const LINES_IN_A_SUMMARY = 20;

/** The message an event of an alert gives reason for; undefined: it is not told to people. */
export function messageOf({ what, at, alert }: AlertEvent, site: MessageSite, id: string): Message | undefined {
  if (!isTold(what)) return undefined;
  const kind = `alert-${what}` as const;
  return {
    id,
    siteId: site.id,
    kind,
    title: `${site.name}: ${titleOf(kind, alert)}`,
    text: textOf(kind, alert, site.zone),
    // That a danger is over can wait for the morning.
    dangerous: what !== 'over' && DANGEROUS_ALERTS.includes(alert.kind),
    at,
    alert,
  };
}

export const testMessage = (site: MessageSite, channel: string, by: string, at: number, id: string): Message => ({
  id,
  siteId: site.id,
  kind: 'test',
  title: `${site.name}: a test of Leafturn`,
  text: `This is a test of the channel ${channel}, asked for by ${by} at ${instantWords(site.zone, at)}. Nothing has happened and there is nothing to do.`,
  dangerous: false,
  at,
});

/** One message in place of several of one site, so that a bad night is one message and not forty. */
export function summaryOf(messages: readonly Message[], site: MessageSite, at: number, id: string): Message {
  const parts = messages.flatMap((message) => message.parts ?? [message]).sort((a, b) => a.at - b.at);
  const latest = [...new Map(parts.map((part) => [part.alert?.id ?? part.id, part])).values()];
  const over = latest.filter(({ kind }) => kind === 'alert-over');
  const open = latest.filter(({ kind }) => kind !== 'alert-over');
  const lines = [...open, ...over].map((part) => lineOf(part, site.zone));
  const left = lines.length - LINES_IN_A_SUMMARY;
  return {
    id,
    siteId: site.id,
    kind: 'summary',
    title: `${site.name}: ${countWords(open.length, over.length)}`,
    text: [
      ...lines.slice(0, LINES_IN_A_SUMMARY),
      ...(left > 0 ? [`And ${left} more: see the page of the alerts.`] : []),
    ].join('\n\n'),
    dangerous: parts.some(({ dangerous }) => dangerous),
    at,
    parts,
  };
}

const countWords = (open: number, over: number): string =>
  [
    ...(open > 0 ? [count(open, 'alert')] : []),
    ...(over > 0 ? [`${count(over, 'alert is', 'alerts are')} over`] : []),
  ].join(', ');

function titleOf(kind: MessageKind, { text }: Alert): string {
  if (kind === 'alert-worse') return `Worse: ${text.title}`;
  return kind === 'alert-over' ? `Over: ${text.title}` : text.title;
}

function textOf(kind: MessageKind, { text, expectedAt, resolvedAt }: Alert, zone: string): string {
  if (kind === 'alert-over')
    return resolvedAt === undefined ? 'It is over.' : `It was over at ${instantWords(zone, resolvedAt)}.`;
  return [
    text.reason,
    expectedAt === undefined ? '' : `Expected from ${instantWords(zone, expectedAt)}.`,
    text.whatToDo === '' ? '' : `What to do: ${text.whatToDo}`,
    text.buys === undefined ? '' : `What it would buy: ${text.buys}`,
    text.caution === undefined ? '' : `Take care: ${text.caution}`,
  ]
    .filter((line) => line !== '')
    .join('\n\n');
}

function lineOf({ title, text, at, kind, alert }: Message, zone: string): string {
  const head = `${clockAt(zone, at)} ${alert ? titleOf(kind, alert) : title}`;
  if (kind === 'alert-over' || alert === undefined) return `${head}. ${text}`;
  return [`${head}.`, alert.text.reason, alert.text.whatToDo, alert.text.caution ?? ''].filter(Boolean).join(' ');
}

/** `14:00 on 26 November`, on the wall clock of the site. */
const instantWords = (zone: string, at: number): string => `${clockAt(zone, at)} on ${shortDay(localDayOf(zone, at))}`;
