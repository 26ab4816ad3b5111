import { EventEmitter, setMaxListeners } from 'node:events';
import { pino } from 'pino';
import { describe, expect, it } from 'vitest';
import { keepMornings, type MorningsParts, nextRoundMs } from '../../../src/app/service/mornings.js';
import type { IssuedForecast } from '../../../src/domain/forecast.js';
import type { HouseSettings } from '../../../src/domain/house-settings.js';
import type { JournalEntry } from '../../../src/domain/journal.js';
import { type Site, siteSchema } from '../../../src/domain/site.js';
import { instantOnDay, localDayOf } from '../../../src/domain/time.js';
import type { Round } from '../../../src/domain/verdict.js';
import { handClock } from '../../support/hand-clock.js';

const site: Site = siteSchema.parse({
  id: 'home',
  name: 'Home',
  latitude: 51,
  longitude: 10,
  zone: 'Europe/Berlin',
  roundAt: '05:00',
  houses: [{ id: 'north', name: 'North' }],
});

function start(
  startMs: number,
  options: {
    readonly has?: boolean;
    readonly renewMinutes?: number;
    readonly failures?: number;
    readonly wait?: () => Promise<void>;
  } = {},
) {
  const clock = handClock(startMs);
  const made: { at: number; day: string; onlyIfChanged: boolean }[] = [];
  const entries = new EventEmitter();
  const stopping = new AbortController();
  // As in the service: every wait listens for the end.
  setMaxListeners(0, stopping.signal);
  let failures = options.failures ?? 0;
  const rounds: MorningsParts['rounds'] = {
    today: () => localDayOf(site.zone, clock.now()),
    latest: async () => (options.has ? ({} as Round) : undefined),
    make: async (_site: string, day: string, { onlyIfChanged = false } = {}) => {
      await options.wait?.();
      if (failures-- > 0) throw new Error('the database is busy');
      made.push({ at: clock.now(), day, onlyIfChanged });
      return {} as Round;
    },
  };
  const { ready, settled } = keepMornings({
    rounds,
    keeper: {
      onEntry: (listener) => {
        entries.on('entry', listener);
        return () => entries.off('entry', listener);
      },
    },
    settings: {
      onChange: (listener) => {
        entries.on('settings', listener);
        return () => entries.off('settings', listener);
      },
    },
    outlooks: {
      onFresh: (listener) => {
        entries.on('outlook', listener);
        return () => entries.off('outlook', listener);
      },
    },
    forecasts: {
      onForecast: (listener) => {
        entries.on('forecast', listener);
        return () => entries.off('forecast', listener);
      },
    },
    sites: () => [site],
    clock,
    settleSeconds: () => 2,
    renewMinutes: () => options.renewMinutes ?? 0,
    logger: pino({ level: 'silent' }),
    signal: stopping.signal,
  });
  const enter = (kind: 'signs' | 'note') =>
    entries.emit('entry', [{ siteId: 'home', event: { kind } } as unknown as JournalEntry]);
  const setAnew = () => entries.emit('settings', { siteId: 'home', houseId: 'north' } as HouseSettings);
  const foretell = () => entries.emit('forecast', { siteId: 'home' } as IssuedForecast);
  const refresh = () => entries.emit('outlook', 'home');
  return { clock, made, ready, settled, enter, setAnew, foretell, refresh, entries, stop: () => stopping.abort() };
}

const at = (day: string, clock: string) => instantOnDay(site.zone, day, clock);

describe('the next list of a site', () => {
  it('is due by its own clock, on the days the clocks change too', () => {
    expect(nextRoundMs(site, at('2026-10-24', '04:59'))).toBe(at('2026-10-24', '05:00'));
    // From 05:00 summer time to 05:00 winter time are 25 hours, in spring 23.
    expect(nextRoundMs(site, at('2026-10-24', '05:00')) - at('2026-10-24', '05:00')).toBe(25 * 3_600_000);
    expect(nextRoundMs(site, at('2027-03-27', '05:00')) - at('2027-03-27', '05:00')).toBe(23 * 3_600_000);
  });
});

describe('the keeping of mornings', () => {
  it('makes the list of today at once where there is none, and not where there is one', async () => {
    const none = start(at('2026-06-10', '11:00'));
    await none.ready;
    expect(none.made).toEqual([{ at: at('2026-06-10', '11:00'), day: '2026-06-10', onlyIfChanged: false }]);
    const some = start(at('2026-06-10', '11:00'), { has: true });
    await some.ready;
    expect(some.made).toEqual([]);
    none.stop();
    some.stop();
  });

  it('makes one every morning at its hour', async () => {
    const { clock, made, ready, stop } = start(at('2026-10-24', '11:00'), { has: true });
    await ready;
    await clock.moveTo(at('2026-10-26', '06:00'));
    expect(made.map((one) => one.at)).toEqual([at('2026-10-25', '05:00'), at('2026-10-26', '05:00')]);
    stop();
  });

  it('makes one list after a burst of entries, none after a bare note', async () => {
    const { clock, made, ready, enter, stop } = start(at('2026-06-10', '11:00'), { has: true });
    await ready;
    enter('signs');
    enter('signs');
    await clock.moveTo(at('2026-06-10', '11:01'));
    expect(made.map((one) => one.at)).toEqual([at('2026-06-10', '11:00') + 2000]);
    enter('note');
    await clock.moveTo(at('2026-06-10', '11:02'));
    expect(made).toHaveLength(1);
    stop();
  });

  it('makes one list, if it says anything new, when the outlooks of several houses are fresh', async () => {
    const { clock, made, ready, refresh, stop } = start(at('2026-06-10', '11:00'), { has: true });
    await ready;
    refresh();
    refresh();
    await clock.moveTo(at('2026-06-10', '11:01'));
    expect(made).toEqual([{ at: at('2026-06-10', '11:00') + 2000, day: '2026-06-10', onlyIfChanged: true }]);
    stop();
  });

  it('is settled only when the list being made at the end is made', async () => {
    const gate: (() => void)[] = [];
    const { ready, settled, setAnew, made, stop } = start(at('2026-06-10', '11:00'), {
      has: true,
      wait: () => new Promise((resolve) => gate.push(resolve)),
    });
    await ready;
    setAnew();
    stop();
    let isSettled = false;
    const all = settled().then(() => {
      isSettled = true;
    });
    await new Promise((resolve) => setImmediate(resolve));
    expect(isSettled).toBe(false);
    gate[0]?.();
    await all;
    expect(made).toHaveLength(1);
  });

  it('makes one at once when something is set anew for a house', async () => {
    const { clock, made, ready, setAnew, stop } = start(at('2026-06-10', '11:00'), { has: true });
    await ready;
    setAnew();
    await clock.moveTo(at('2026-06-10', '11:00'));
    expect(made).toEqual([{ at: at('2026-06-10', '11:00'), day: '2026-06-10', onlyIfChanged: false }]);
    stop();
    setAnew();
    await clock.moveTo(at('2026-06-10', '11:05'));
    expect(made).toHaveLength(1);
  });

  it('looks once after forecasts that come together whether they changed anything', async () => {
    const { clock, made, ready, foretell, stop } = start(at('2026-06-10', '11:00'), { has: true });
    await ready;
    foretell();
    foretell();
    await clock.moveTo(at('2026-06-10', '11:01'));
    expect(made).toEqual([{ at: at('2026-06-10', '11:00') + 2000, day: '2026-06-10', onlyIfChanged: true }]);
    stop();
    foretell();
    await clock.moveTo(at('2026-06-10', '11:05'));
    expect(made).toHaveLength(1);
  });

  it('looks from time to time whether the readings changed anything', async () => {
    const { clock, made, ready, stop } = start(at('2026-06-10', '11:00'), { has: true, renewMinutes: 60 });
    await ready;
    await clock.moveTo(at('2026-06-10', '13:30'));
    expect(made.map(({ onlyIfChanged }) => onlyIfChanged)).toEqual([true, true]);
    stop();
  });

  it('tries a morning again every minute until it succeeds', async () => {
    const { clock, made, ready, stop } = start(at('2026-06-10', '11:00'), { has: true, failures: 3 });
    await ready;
    await clock.moveTo(at('2026-06-11', '06:00'));
    expect(made.map((one) => one.at)).toEqual([at('2026-06-11', '05:03')]);
    stop();
  });

  it('stops when it is told to', async () => {
    const { clock, made, ready, enter, entries, stop } = start(at('2026-06-10', '11:00'), { has: true });
    await ready;
    stop();
    enter('signs');
    await clock.moveTo(at('2026-06-12', '06:00'));
    expect(made).toEqual([]);
    expect(entries.listenerCount('entry')).toBe(0);
  });
});
