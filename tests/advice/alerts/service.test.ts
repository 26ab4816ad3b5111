import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { LONGEST_SNOOZE_MS } from '../../../src/advice/alerts/service.js';
import type { HouseOutlook } from '../../../src/domain/outlook.js';
import { addDays, instantOnDay } from '../../../src/domain/time.js';
import { MILD, type Nursery, openNursery, plantSoft, type Weather } from '../../support/nursery.js';
import { band, feed, HOUR, MINUTE, outlook, watched } from './support.js';

const DAY = '2026-06-10';
let nursery: Nursery;
/** Own limits of the house, so high that there is room between warning and harm. */
const FROM_FIVE = { frostBelowC: 5, frostMoistBelowC: 5 };

/** A nursery with two months of weather behind it, at half past five, with today's list. */
async function begin(weather: Weather = MILD, day = DAY): Promise<void> {
  nursery = await openNursery();
  await plantSoft(nursery, day);
  await feed(nursery, instantOnDay(nursery.site.zone, addDays(day, -61), '00:00'), nursery.now, weather);
  await nursery.rounds.make('home', day);
}
const at = (clock: string, day = DAY) => instantOnDay(nursery.site.zone, day, clock);
afterEach(() => nursery.close());

describe('on a mild day', () => {
  beforeEach(() => begin());

  it('says nothing of the weather or the sensors', async () => {
    await feed(nursery, nursery.now, at('10:00'));
    const { told, watch } = watched(nursery, {
      outlook: async () => outlook(nursery, [{ dayMaxC: band(24, 2), nightMinC: band(12, 2), wetHours: 0 }]),
    });
    await watch(4 * HOUR);
    expect(told()).toEqual([]);
  });

  it('says once that a sensor fell silent, and nothing of what depends on it; then that it is heard again', async () => {
    nursery.now = at('00:00');
    const { told, watch, alerts, events } = watched(nursery);
    nursery.now = at('05:30');
    await watch(6 * HOUR);
    // Half past five, two hours of silence, a quarter of an hour to see whether the whole house is silent.
    expect(told().filter((one) => !one.includes('list'))).toEqual(['new sensor-silent north-air']);
    const [silent] = await alerts.open('home');
    expect(silent?.text.reason).toContain('It is the only sensor of the house: its alerts stand as they were.');
    expect((silent?.firedAt ?? 0) - at('05:30')).toBe(2 * HOUR + 20 * MINUTE);
    await feed(nursery, nursery.now - HOUR, nursery.now + HOUR);
    await watch(30 * MINUTE);
    expect(told().at(-1)).toBe('over sensor-silent north-air');
    expect(events.at(-1)?.alert.outcome).toMatch(/^Heard again [34] hours after this was told\.$/);
  });

  it('says that the list is not done by eleven, and that it is done once it is ticked off', async () => {
    nursery.now = at('10:50');
    await feed(nursery, at('05:30'), at('13:00'));
    const { told, watch, alerts, events } = watched(nursery);
    await watch(30 * MINUTE);
    expect(told()).toEqual(['new list-not-done']);
    const [open] = await alerts.open('home');
    expect(open?.batchIds).toEqual(['thirsty', 'firm', 'stones']);
    expect(open?.text.reason).toBe(
      'It is past 11:00 and 3 of 3 drinks of today are not ticked off: Batch thirsty (Bench 1), Batch firm (Bench 2) and Batch stones (Bench 2).',
    );
    await nursery.enter(DAY, '11:22', {
      kind: 'watering',
      batchIds: ['thirsty', 'firm', 'stones'],
      amount: 'full',
      answer: 'as-advised',
      day: DAY,
    });
    await nursery.rounds.make('home', DAY);
    await watch(10 * MINUTE);
    expect(told()).toEqual(['new list-not-done', 'over list-not-done']);
    expect(events.at(-1)?.alert.outcome).toBe('The list was done by 11:25.');
  });

  it('an undone list is gone at midnight: nobody is told that it is over, and the alert says how the day went', async () => {
    nursery.now = at('11:00');
    const { told, watch, events } = watched(nursery);
    await watch(0);
    nursery.now = at('00:05', addDays(DAY, 1));
    await watch(0);
    expect(told().filter((one) => one.includes('list'))).toEqual(['new list-not-done', 'ended list-not-done']);
    expect(events.findLast(({ alert }) => alert.kind === 'list-not-done')?.alert).toMatchObject({
      state: 'resolved',
      outcome: 'The day went by without it.',
    });
  });

  it('the round is not unpacked a second time for the facts of its batches', async () => {
    const { rounds } = nursery.storage;
    const get = vi.fn(rounds.get);
    const { watch } = watched(nursery, { storage: { ...nursery.storage, rounds: { ...rounds, get } } });
    await watch(10 * MINUTE);
    expect(get).not.toHaveBeenCalled();
  });

  it('goes by the own limits of the house', async () => {
    nursery.now = at('09:00');
    await feed(nursery, at('05:30'), at('09:00'));
    const { told, watch } = watched(nursery, { alertLimits: () => ({ listDoneByHour: 8 }) });
    await watch(0);
    expect(told()).toEqual(['new list-not-done']);
  });

  it('says that the disk is nearly full, and worse when it is', async () => {
    let free = 900 * 1024 * 1024;
    await feed(nursery, nursery.now, at('08:00'));
    const { told, watch } = watched(nursery, { freeBytes: async () => free });
    await watch(10 * MINUTE);
    free = 100 * 1024 * 1024;
    await watch(10 * MINUTE);
    expect(told()).toEqual(['new disk-low', 'worse disk-low']);
  });
});

it('a figure that cannot be true freezes the alerts that need it, and keeps none of the others from being told', async () => {
  await begin();
  await feed(nursery, nursery.now, at('08:00'));
  const troubles: unknown[] = [];
  const { told, watch } = watched(nursery, {
    outlook: async () => outlook(nursery, [{ dayMaxC: band(Number.NaN, 2), wetHours: 9 }]),
    onTrouble: (error) => troubles.push(error),
  });
  await watch(0);
  expect(told()).toEqual(['new wet-night']);
  expect(troubles).toHaveLength(1);
});

describe('before a frost', () => {
  let ahead: HouseOutlook | undefined;
  beforeEach(async () => {
    await begin();
    await feed(nursery, nursery.now, at('23:00'));
    ahead = outlook(nursery, [{ dayMaxC: band(15, 2) }, { dayMaxC: band(12, 2), nightMinC: band(4.5, 1) }]);
  });

  it('names the batches at risk, why, what to do and how likely it is', async () => {
    const { watch, alerts } = watched(nursery, {
      outlook: async () => ahead,
      alertLimits: () => FROM_FIVE,
      buys: async () => ({ frost: 'about 5 °C, 4 to 6' }),
    });
    await watch(0);
    const [frost] = await alerts.open('home');
    // From the band, normal: P(night < 5 °C) = Φ(0.5 / (1 / 1.2816)) = Φ(0.641) = 0.739, by a table of the normal distribution.
    expect(frost).toMatchObject({ kind: 'frost', level: 'warning', state: 'firing', houseId: 'north' });
    expect(frost?.probability).toBeCloseTo(0.739, 3);
    expect(frost?.batchIds).toEqual(['thirsty', 'firm', 'stones']);
    expect(frost?.text).toMatchObject({
      title: 'Frost coming to North house',
      buys: 'about 5 °C, 4 to 6',
      caution: expect.stringContaining('licensed electrician'),
    });
    expect(frost?.text.reason).toContain('The night to 11 June is expected down to 4.5 °C (3.5 to 5.5).');
    expect(frost?.text.reason).toContain(
      'At risk: Batch thirsty (Bench 1), Batch firm (Bench 2) and Batch stones (Bench 2).',
    );
    expect(frost?.expectedAt).toBe(at('03:00', '2026-06-11'));
  });

  it('tells the next day how it turned out', async () => {
    const { watch, told, events } = watched(nursery, { outlook: async () => ahead, alertLimits: () => FROM_FIVE });
    await watch(0);
    ahead = outlook(nursery, [{ dayMaxC: band(20, 2) }, { nightMinC: band(12, 1) }]);
    await watch(4 * HOUR);
    expect(told()).toEqual(['new frost', 'over frost']);
    expect(events.at(-1)?.alert).not.toHaveProperty('outcome');
    await feed(nursery, at('23:30'), at('00:00', '2026-06-12'), { ...MILD, nightC: 3.3 });
    nursery.now = at('00:10', '2026-06-12');
    await watch(0);
    expect(events.find(({ what }) => what === 'turned-out')?.alert.outcome).toBe(
      'The house fell to 3.3 °C on 11 June.',
    );
  });

  it('stands as it was while nothing is known, and is the same alert afterwards', async () => {
    const { watch, told } = watched(nursery, { outlook: async () => ahead, alertLimits: () => FROM_FIVE });
    await watch(0);
    const wasAhead = ahead;
    ahead = undefined;
    nursery.now += 10 * MINUTE;
    await watch(2 * HOUR);
    ahead = wasAhead;
    await watch(10 * MINUTE);
    expect(told()).toEqual(['new frost']);
  });
});

describe('people', () => {
  let id: number;
  let one: ReturnType<typeof watched>;
  let ahead: HouseOutlook;
  beforeEach(async () => {
    await begin();
    await feed(nursery, nursery.now, at('23:00'));
    ahead = outlook(nursery, [{}, { nightMinC: band(4.5, 1) }]);
    one = watched(nursery, { outlook: async () => ahead, alertLimits: () => FROM_FIVE });
    await one.watch(0);
    id = (await one.alerts.open('home'))[0]?.id ?? 0;
  });

  it('acknowledge it with their name; worse, it is theirs no more', async () => {
    expect(await one.alerts.acknowledge(id, 'Ada')).toMatchObject({ acknowledged: { at: nursery.now, by: 'Ada' } });
    expect(await one.alerts.acknowledge(id, 'Ben')).toMatchObject({ acknowledged: { by: 'Ada' } });
    ahead = outlook(nursery, [{}, { nightMinC: band(-3, 1) }]);
    await one.watch(5 * MINUTE);
    expect(one.told()).toEqual(['new frost', 'acknowledged frost', 'worse frost']);
    expect(one.events.at(-1)?.alert).toMatchObject({
      level: 'danger',
      text: { title: 'Harmful cold coming to North house' },
    });
    expect(one.events.at(-1)?.alert).not.toHaveProperty('acknowledged');
  });

  it('put it off, and are told of it again', async () => {
    await one.alerts.snooze(id, 'Ada', nursery.now + HOUR);
    await one.watch(2 * HOUR);
    expect(one.told()).toEqual(['new frost', 'snoozed frost', 'new frost']);
    expect((one.events.at(-1)?.at ?? 0) - (one.events[1]?.at ?? 0)).toBe(HOUR);
  });

  it('cannot put it off for ever, nor into the past', async () => {
    for (const until of [nursery.now, nursery.now + LONGEST_SNOOZE_MS + 1, Number.NaN])
      await expect(one.alerts.snooze(id, 'Ada', until)).rejects.toMatchObject({ code: 'invalid-input' });
    expect(one.told()).toEqual(['new frost']);
  });

  it('and the looking do not get into each other’s way', async () => {
    await Promise.all([
      one.alerts.evaluate('home'),
      one.alerts.acknowledge(id, 'Ada'),
      one.alerts.evaluate('home'),
      one.alerts.snooze(id, 'Ben', nursery.now + HOUR),
    ]);
    expect(await one.alerts.get(id)).toMatchObject({ acknowledged: { by: 'Ada' }, snoozedUntil: nursery.now + HOUR });
  });

  it('are told though a listener before them throws', async () => {
    const troubles: unknown[] = [];
    const other = watched(nursery, {
      outlook: async () => ahead,
      alertLimits: () => FROM_FIVE,
      onTrouble: (error) => troubles.push(error),
    });
    other.alerts.onAlert(() => {
      throw new Error('no paper');
    });
    const heard: string[] = [];
    other.alerts.onAlert(({ what }) => heard.push(what));
    ahead = outlook(nursery, [{}, { nightMinC: band(-3, 1) }]);
    nursery.now += 5 * MINUTE;
    await other.watch(0);
    await other.alerts.acknowledge(id, 'Ada');
    expect(heard).toEqual(['worse']);
    expect(troubles).toHaveLength(1);
  });
});

it('gives the same history when the service starts anew between any two looks', async () => {
  const history = async (restart: boolean): Promise<string[]> => {
    await begin();
    const from = nursery.now;
    await feed(nursery, from, at('07:00'));
    // A hot forecast, a silent sensor, a mild forecast, the sensor again: every quarter of an hour something else.
    const forecast = async () =>
      outlook(nursery, [
        { dayMaxC: band(nursery.now < at('08:00') ? 40 : 22, 1), nightMinC: band(14, 1) },
        { dayMaxC: band(nursery.now < at('08:00') ? 38 : 22, 1) },
      ]);
    let one = watched(nursery, { outlook: forecast });
    const told: string[] = [];
    for (let step = 0; step < 96; step += 1) {
      if (restart) one = watched(nursery, { outlook: forecast });
      one.events.length = 0;
      await one.watch(0);
      told.push(
        ...one.events.map(
          ({ at, what, alert }) => `${(at - from) / MINUTE} ${what} ${alert.kind} ${alert.outcome ?? ''}`,
        ),
      );
      nursery.now += 5 * MINUTE;
      if (step === 70) await feed(nursery, at('10:45'), at('14:00'));
    }
    await nursery.close();
    return told;
  };
  const plain = await history(false);
  expect(await history(true)).toEqual(plain);
  expect(plain.map((line) => line.split(' ').slice(1, 3).join(' '))).toEqual([
    'new hot-spell',
    'new sensor-silent',
    'over hot-spell',
    'new list-not-done',
    'over sensor-silent',
  ]);
  nursery = await openNursery();
});
