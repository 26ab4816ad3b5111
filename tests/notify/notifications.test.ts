import { describe, expect, it } from 'vitest';
import { RETRY_PAUSES_MS } from '../../src/notify/timing.js';
import { openSqliteStorage } from '../../src/storage/sqlite.js';
import { openTemp, tempFolder } from '../storage/support.js';
import { channelOf, desk, HOUR, MORNING, NIGHT, never, raise, titles } from './desk.js';

describe('quiet hours', () => {
  it('let danger through and hold the rest, which comes in the morning as one', async () => {
    const storage = await openTemp();
    const { channel, sent } = channelOf();
    const { clock, run } = desk(storage, [channel]);
    await raise(storage, 'wet-night', 'a');
    await raise(storage, 'sensor-silent', 'b');
    await raise(storage, 'frost', 'c');
    expect(await run()).toBe(MORNING);
    expect(titles(sent)).toEqual(['Home: frost c']);
    clock.now = MORNING - 1;
    await run();
    expect(sent).toHaveLength(1);
    clock.now = MORNING;
    expect(await run()).toBeUndefined();
    expect(titles(sent)).toEqual(['Home: frost c', 'Home: 2 alerts']);
  });

  it('hold over a restart too', async () => {
    const path = `${tempFolder()}/test.db`;
    const first = await openSqliteStorage({ path, zoneOf: () => 'Europe/Berlin' });
    const ids = { last: 0 };
    const { channel, sent } = channelOf();
    await raise(first, 'wet-night', 'a');
    await desk(first, [channel], NIGHT, ids).run();
    await first.close();
    const again = await openTemp('Europe/Berlin', path);
    await desk(again, [channel], NIGHT + HOUR, ids).run();
    expect(sent).toEqual([]);
    await desk(again, [channel], MORNING, ids).run();
    await desk(again, [channel], MORNING + HOUR, ids).run();
    expect(titles(sent)).toEqual(['Home: wet-night a']);
  });
});

describe('one message, not forty', () => {
  it('more than three at once become one, danger apart from the rest', async () => {
    const storage = await openTemp();
    const { channel, sent } = channelOf();
    for (let index = 0; index < 40; index += 1) await raise(storage, 'sensor-silent', `s${index}`, MORNING);
    await raise(storage, 'frost', 'c', MORNING);
    await desk(storage, [channel], MORNING).run();
    expect(titles(sent)).toEqual(['Home: frost c', 'Home: 40 alerts']);
  });
});

describe('what fails', () => {
  it('is tried again by the schedule with the same id, then given up, seen, and sent again by hand', async () => {
    const storage = await openTemp();
    const { channel, sent, state } = channelOf();
    const { notifications, clock, run } = desk(storage, [channel], MORNING);
    state.answer = () => ({ kind: 'failed', trouble: 'Nobody there.' });
    await raise(storage, 'frost', 'a', MORNING);
    let next = await run();
    while (next !== undefined) {
      clock.now = next;
      next = await run();
    }
    // All tries: the first and one after each pause; a dead server is left alone for a minute at most.
    expect(sent.map(({ at }, index) => (index === 0 ? 0 : at - (sent[index - 1]?.at ?? 0)))).toEqual([
      0,
      ...RETRY_PAUSES_MS,
    ]);
    expect(new Set(sent.map(({ message }) => message.id)).size).toBe(1);
    const [dead] = await notifications.dead({ limit: 10 });
    expect(dead).toMatchObject({ state: 'dead', tries: 8, trouble: 'Nobody there.' });
    expect(await notifications.channels()).toMatchObject([{ name: 'hook', dead: 1, lastTrouble: 'Nobody there.' }]);
    state.answer = () => ({ kind: 'sent' });
    await notifications.sendAgain(dead?.id ?? 0);
    await run();
    expect(sent.at(-1)?.message.id).toBe(sent[0]?.message.id);
    expect(await notifications.channels()).toMatchObject([{ dead: 0, lastSentAt: clock.now }]);
    await expect(notifications.sendAgain(dead?.id ?? 0)).rejects.toThrow('was not given up: it is sent');
  });

  it('waits for as long as the other side asks', async () => {
    const storage = await openTemp();
    const { channel, state } = channelOf();
    const { run } = desk(storage, [channel], MORNING);
    state.answer = () => ({ kind: 'failed', trouble: 'Too many.', notBeforeMs: 2 * HOUR });
    await raise(storage, 'frost', 'a', MORNING);
    expect(await run()).toBe(MORNING + 2 * HOUR);
  });

  it('for one recipient costs the other nothing, and a channel that fails leaves another alone', async () => {
    const storage = await openTemp();
    const mail = channelOf('mail', ['ada@example.org', 'bo@example.org']);
    const hook = channelOf('hook');
    mail.state.answer = (recipient) =>
      recipient.startsWith('ada') ? { kind: 'refused', trouble: 'No mailbox.' } : { kind: 'sent' };
    hook.state.answer = () => ({ kind: 'failed', trouble: 'Down.' });
    const { notifications, run } = desk(storage, [mail.channel, hook.channel], MORNING);
    await raise(storage, 'frost', 'a', MORNING);
    await run();
    expect(mail.sent.map(({ recipient }) => recipient)).toEqual(['ada@example.org', 'bo@example.org']);
    expect(await notifications.dead({ limit: 10 })).toMatchObject([{ channel: 'mail', recipient: 'ada@example.org' }]);
    expect(await notifications.channels()).toMatchObject([
      { name: 'mail', dead: 1, waiting: 0, lastSentAt: MORNING },
      { name: 'hook', dead: 0, waiting: 1, lastTrouble: 'Down.' },
    ]);
  });

  it('a dead server is asked once and not for every message', async () => {
    const storage = await openTemp();
    const { channel, sent, state } = channelOf();
    state.answer = () => ({ kind: 'failed', trouble: 'Down.' });
    const { run } = desk(storage, [channel], MORNING);
    for (const subject of ['a', 'b', 'c']) await raise(storage, 'frost', subject, MORNING);
    await run();
    expect(sent).toHaveLength(1);
  });

  it('of a channel that is no longer set up is given up in words', async () => {
    const storage = await openTemp();
    const { channel, state } = channelOf();
    state.answer = () => ({ kind: 'failed', trouble: 'Down.' });
    await raise(storage, 'frost', 'a', MORNING);
    await desk(storage, [channel], MORNING).run();
    const { notifications, run } = desk(storage, [], MORNING + HOUR);
    await run();
    expect(await notifications.dead({ limit: 1 })).toMatchObject([{ trouble: 'hook is no longer in the site file.' }]);
  });
});

it('a kill between sending and noting it sends the same id again, and never two messages of one event', async () => {
  const storage = await openTemp();
  const { channel, sent } = channelOf();
  await raise(storage, 'frost', 'a', MORNING);
  const first = desk(storage, [channel], MORNING);
  await first.notifications.takeIn();
  // Sent, but the process ends before it is noted.
  const [delivery] = await storage.notifications.due(MORNING, 1);
  if (delivery) await channel.send(delivery.message, '', MORNING, never);
  const after = desk(storage, [channel], MORNING + 1000, { last: 100 });
  await after.run();
  await after.run();
  expect(sent.map(({ message }) => message.id)).toEqual(['msg_1', 'msg_1']);
});

it('a test goes at once in the night, to every recipient, and is not kept', async () => {
  const storage = await openTemp();
  const { channel, sent } = channelOf('mail', ['ada@example.org', 'bo@example.org']);
  const { notifications } = desk(storage, [channel]);
  const results = await notifications.test('mail', 'Ada');
  expect(results.map(({ recipient, outcome }) => [recipient, outcome.kind])).toEqual([
    ['ada@example.org', 'sent'],
    ['bo@example.org', 'sent'],
  ]);
  expect(sent).toHaveLength(2);
  expect(await notifications.channels()).toMatchObject([{ lastSentAt: NIGHT, waiting: 0 }]);
  await expect(notifications.test('mial', 'Ada')).rejects.toThrow('There is no channel mial. Did you mean mail?');
});
