import { describe, expect, it, vi } from 'vitest';
import type { NewDelivery, Storage } from '../../src/storage/repositories.js';
import { openTemp } from '../storage/support.js';
import { channelOf, desk, HOUR, MORNING, NIGHT, never, raise, titles } from './desk.js';
import { message } from './support.js';

const diskFull = async (): Promise<never> => {
  throw new Error('The disk is full.');
};
/** `count` messages that wait for a channel, as if taken in before. */
const waiting = (storage: Storage, channel: string, count: number, dangerous = false) =>
  storage.notifications.toldUntil().then((from) =>
    storage.notifications.takeIn(
      Array.from({ length: count }, (_, index): NewDelivery => {
        const id = `msg_${channel}_${index}`;
        return { channel, recipient: '', message: message({ id, title: id, dangerous }), at: MORNING };
      }),
      { from, until: from },
    ),
  );

describe('a disk that is full', () => {
  it('sends nothing twice, keeps nothing back, and is noted once there is room', async () => {
    const storage = await openTemp();
    const { channel, sent } = channelOf();
    const { clock, run } = desk(storage, [channel], MORNING);
    for (const subject of ['a', 'b']) await raise(storage, 'frost', subject, MORNING);
    const full = vi.spyOn(storage.notifications, 'sent').mockImplementation(diskFull);
    for (let turn = 0; turn < 3; turn += 1) {
      await expect(run()).rejects.toThrow('The disk is full.');
      clock.now += 10_000;
    }
    expect(titles(sent)).toEqual(['Home: frost a', 'Home: frost b']);
    full.mockRestore();
    expect(await run()).toBeUndefined();
    expect(sent).toHaveLength(2);
    expect(await storage.notifications.get(1)).toMatchObject({ state: 'sent', endedAt: MORNING, tries: 1 });
  });

  it('does not have a server that fails, or refuses, asked again every time', async () => {
    const storage = await openTemp();
    const [hook, mail] = [channelOf('hook'), channelOf('mail')];
    hook.state.answer = () => ({ kind: 'failed', trouble: 'Down.' });
    mail.state.answer = () => ({ kind: 'refused', trouble: 'No mailbox.' });
    const { notifications, clock, run } = desk(storage, [hook.channel, mail.channel], MORNING);
    await raise(storage, 'frost', 'a', MORNING);
    const full = vi.spyOn(storage.notifications, 'failed').mockImplementation(diskFull);
    for (let turn = 0; turn < 3; turn += 1) {
      await expect(run()).rejects.toThrow('The disk is full.');
      clock.now += 10_000;
    }
    expect([hook.sent.length, mail.sent.length]).toEqual([1, 1]);
    full.mockRestore();
    // Written down, and by the schedule it is time for the second try.
    await run();
    expect([hook.sent.length, mail.sent.length]).toEqual([2, 1]);
    expect(await notifications.dead({ limit: 9 })).toMatchObject([
      { channel: 'mail', trouble: 'No mailbox.', tries: 1 },
    ]);
    expect(await storage.notifications.get(1)).toMatchObject({ channel: 'hook', tries: 2, trouble: 'Down.' });
  });

  it('lets danger through in quiet hours though the rest cannot be held', async () => {
    const storage = await openTemp();
    const { channel, sent } = channelOf();
    const { run } = desk(storage, [channel], NIGHT);
    await raise(storage, 'wet-night', 'a');
    await raise(storage, 'frost', 'b');
    vi.spyOn(storage.notifications, 'hold').mockImplementation(diskFull);
    await expect(run()).rejects.toThrow('The disk is full.');
    expect(titles(sent)).toEqual(['Home: frost b']);
  });
});

describe('a channel that is dead for long', () => {
  it('does not keep the messages of another back, however many wait for it', async () => {
    const storage = await openTemp();
    const [dead, good] = [channelOf('dead'), channelOf('good')];
    dead.state.answer = () => ({ kind: 'failed', trouble: 'Down.', notBeforeMs: HOUR });
    await waiting(storage, 'dead', 250);
    await waiting(storage, 'good', 1);
    const { clock, run } = desk(storage, [dead.channel, good.channel], MORNING);
    await run();
    clock.now += 1000;
    await run();
    expect(titles(good.sent)).toEqual(['msg_good_0']);
    expect(dead.sent).toHaveLength(1);
  });

  it('does not keep danger back even for one turn', async () => {
    const storage = await openTemp();
    const [dead, good] = [channelOf('dead'), channelOf('good')];
    dead.state.answer = () => ({ kind: 'failed', trouble: 'Down.' });
    await waiting(storage, 'dead', 250);
    await waiting(storage, 'good', 1, true);
    await desk(storage, [dead.channel, good.channel], MORNING).run();
    expect(good.sent).toHaveLength(1);
  });
});

describe('a channel that is for some sites', () => {
  it('is listed for these and tested in the name of one of them', async () => {
    const storage = await openTemp();
    const [far, both] = [channelOf('far', [''], ['away']), channelOf('both', [''], ['away', 'home'])];
    const { notifications } = desk(storage, [far.channel, both.channel]);
    const names = async (siteId?: string) => (await notifications.channels(siteId)).map(({ name }) => name);
    expect([await names('home'), await names('away'), await names()]).toEqual([
      ['both'],
      ['far', 'both'],
      ['far', 'both'],
    ]);
    await notifications.test('both', 'Ada');
    expect(both.sent.map(({ message: { siteId } }) => siteId)).toEqual(['home']);
    await expect(notifications.test('far', 'Ada', 'home')).rejects.toThrow('The channel far is not for the site home.');
    await expect(notifications.test('far', 'Ada')).rejects.toThrow('The channel far is not for any site.');
    expect(far.sent).toEqual([]);
  });
});

it('what is stopped while it is sent is no failure, and goes after the next start', async () => {
  const storage = await openTemp();
  const { channel, sent } = channelOf();
  await raise(storage, 'frost', 'a', MORNING);
  const first = desk(storage, [{ ...channel, send: () => Promise.reject(new Error('stopped')) }], MORNING);
  await first.notifications.takeIn();
  await expect(first.notifications.deliver(never)).rejects.toThrow('stopped');
  expect(await storage.notifications.due(MORNING, 9)).toMatchObject([{ tries: 0, trouble: null }]);
  await desk(storage, [channel], MORNING, { last: 100 }).run();
  expect(sent.map(({ message: { id } }) => id)).toEqual(['msg_1']);
});
