import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { Message } from '../../src/domain/messages.js';
import type { NewDelivery } from '../../src/storage/repositories.js';
import { openSqliteStorage } from '../../src/storage/sqlite.js';
import { openTemp, T0, tempFolder } from './support.js';

const MINUTE_MS = 60_000;
const DAY_MS = 1440 * MINUTE_MS;
const message = (id: string, more: Partial<Message> = {}): Message => ({
  id,
  siteId: 'hill',
  kind: 'alert-new',
  title: `Title of ${id}`,
  text: 'Text.',
  dangerous: false,
  at: T0,
  ...more,
});
const delivery = (id: string, more: Partial<NewDelivery> = {}): NewDelivery => ({
  channel: 'hook',
  recipient: '',
  message: message(id),
  at: T0,
  ...more,
});
const ids = (found: readonly { readonly message: Message }[]) => found.map((one) => one.message.id);

describe('taking in', () => {
  it('goes together with the place in the events, or not at all', async () => {
    const { notifications } = await openTemp();
    expect(await notifications.toldUntil()).toBe(0);
    expect(await notifications.takeIn([delivery('a'), delivery('b')], { from: 0, until: 7 })).toBe(true);
    // Somebody who had read the same events before: nothing of it is kept.
    expect(await notifications.takeIn([delivery('a2')], { from: 0, until: 7 })).toBe(false);
    expect(await notifications.toldUntil()).toBe(7);
    expect(ids(await notifications.due(T0, 10))).toEqual(['a', 'b']);
  });

  it('is there after a restart, to the last field', async () => {
    const path = join(tempFolder(), 'test.db');
    const first = await openSqliteStorage({ path, zoneOf: () => 'UTC' });
    await first.notifications.takeIn([delivery('a', { recipient: 'ada@example.org' })], { from: 0, until: 1 });
    await first.close();
    const again = await openTemp('UTC', path);
    expect(await again.notifications.due(T0, 10)).toEqual([
      {
        id: 1,
        channel: 'hook',
        recipient: 'ada@example.org',
        message: message('a'),
        state: 'waiting',
        held: false,
        tries: 0,
        nextAt: T0,
        createdAt: T0,
        endedAt: null,
        trouble: null,
        troubleAt: null,
      },
    ]);
    expect(await again.notifications.toldUntil()).toBe(1);
  });
});

describe('the way of a delivery', () => {
  it('waits for its next try, is given up, revived with the same message, and sent', async () => {
    const { notifications } = await openTemp();
    await notifications.takeIn([delivery('a')], { from: 0, until: 1 });
    const [row] = await notifications.due(T0, 10);
    if (!row) throw new Error('nothing is due');
    await notifications.failed(row, { at: T0 + 1, trouble: 'Nobody there.', nextAt: T0 + 5000 });
    expect(await notifications.due(T0 + 4999, 10)).toEqual([]);
    expect(await notifications.nextAt()).toBe(T0 + 5000);
    expect(await notifications.due(T0 + 5000, 10)).toMatchObject([{ tries: 1, trouble: 'Nobody there.' }]);
    expect(await notifications.revive(row.id, T0)).toBe(false);
    await notifications.failed(row, { at: T0 + 6000, trouble: 'Still nobody.', nextAt: null });
    expect(await notifications.nextAt()).toBeUndefined();
    expect(await notifications.dead({ limit: 10 })).toMatchObject([{ state: 'dead', tries: 2, endedAt: T0 + 6000 }]);
    expect(await notifications.dead({ channel: 'mail', limit: 10 })).toEqual([]);
    expect((await notifications.channels()).get('hook')).toEqual({
      lastSentAt: null,
      lastTrouble: 'Still nobody.',
      lastTroubleAt: T0 + 6000,
      waiting: 0,
      dead: 1,
    });
    expect(await notifications.revive(row.id, T0 + 9000)).toBe(true);
    const [again] = await notifications.due(T0 + 9000, 10);
    expect(again).toMatchObject({ id: row.id, tries: 0, message: { id: 'a' } });
    await notifications.sent(row, T0 + 9001);
    expect(await notifications.get(row.id)).toMatchObject({ state: 'sent', endedAt: T0 + 9001 });
    expect((await notifications.channels()).get('hook')).toMatchObject({ lastSentAt: T0 + 9001, waiting: 0, dead: 0 });
  });

  it('those tried least come first, so that one that never goes does not stand before the others', async () => {
    const { notifications } = await openTemp();
    await notifications.takeIn([delivery('a'), delivery('b')], { from: 0, until: 1 });
    await notifications.failed({ id: 1, channel: 'hook' }, { at: T0, trouble: 'x', nextAt: T0 });
    expect(ids(await notifications.due(T0, 10))).toEqual(['b', 'a']);
    expect(ids(await notifications.due(T0, 1))).toEqual(['b']);
  });

  it('danger comes before all others, and channels that rest are left out', async () => {
    const { notifications } = await openTemp();
    const frost = delivery('frost', { message: message('frost', { dangerous: true }) });
    await notifications.takeIn([delivery('a', { channel: 'mail' }), delivery('b'), frost], { from: 0, until: 1 });
    await notifications.failed({ id: 3, channel: 'hook' }, { at: T0, trouble: 'x', nextAt: T0 });
    expect(ids(await notifications.due(T0, 10))).toEqual(['frost', 'a', 'b']);
    expect(ids(await notifications.due(T0, 1))).toEqual(['frost']);
    expect(ids(await notifications.due(T0, 1, { except: ['hook'] }))).toEqual(['a']);
    expect(await notifications.due(T0, 1, { except: ['hook', 'mail'] })).toEqual([]);
  });

  it('those given up are found by their site, however many others there are', async () => {
    const { notifications } = await openTemp();
    const far = ['b', 'c', 'd'].map((id) => delivery(id, { message: message(id, { siteId: 'far' }) }));
    await notifications.takeIn([delivery('a'), ...far], { from: 0, until: 1 });
    for (const id of [1, 2, 3, 4])
      await notifications.failed({ id, channel: 'hook' }, { at: T0, trouble: 'x', nextAt: null });
    expect(ids(await notifications.dead({ siteId: 'hill', limit: 2 }))).toEqual(['a']);
    expect(ids(await notifications.dead({ siteId: 'far', beforeId: 4, limit: 1 }))).toEqual(['c']);
  });

  it('several become one', async () => {
    const { notifications } = await openTemp();
    await notifications.takeIn([delivery('a'), delivery('b'), delivery('c')], { from: 0, until: 1 });
    await notifications.hold(1, T0 + DAY_MS);
    await notifications.hold(2, T0 + DAY_MS);
    expect(ids(await notifications.due(T0, 10))).toEqual(['c']);
    const all = await notifications.join([1, 2], delivery('sum', { at: T0 + DAY_MS, held: true }));
    expect(all).toMatchObject({ state: 'waiting', held: true, message: { id: 'sum' } });
    expect(ids(await notifications.due(T0 + DAY_MS, 10))).toEqual(['c', 'sum']);
  });
});

it('what was sent goes after a month, what was given up after a year, what waits never', async () => {
  const { notifications, upkeep } = await openTemp();
  await notifications.takeIn([delivery('sent'), delivery('dead'), delivery('waits')], { from: 0, until: 1 });
  await notifications.sent({ id: 1, channel: 'hook' }, T0);
  await notifications.failed({ id: 2, channel: 'hook' }, { at: T0, trouble: 'x', nextAt: null });
  const retention = {
    readingsDays: 2,
    hourlyDays: 35,
    refusalsKept: 100,
    idempotencyHours: 48,
    roundRevisionsDays: 30,
    forecastsDays: 400,
  };
  const left = async (days: number) => {
    await upkeep.pruneStep(retention, T0 + days * DAY_MS + 1);
    return (await Promise.all([1, 2, 3].map((id) => notifications.get(id)))).map((row) => row?.message.id);
  };
  expect(await left(29)).toEqual(['sent', 'dead', 'waits']);
  expect(await left(30)).toEqual([undefined, 'dead', 'waits']);
  expect(await left(365)).toEqual([undefined, undefined, 'waits']);
  // What is known of the channel stays.
  expect((await notifications.channels()).get('hook')).toMatchObject({ lastSentAt: T0, lastTrouble: 'x' });
});
