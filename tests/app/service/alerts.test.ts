import { EventEmitter } from 'node:events';
import { pino } from 'pino';
import { expect, it } from 'vitest';
import { watchAlerts } from '../../../src/app/service/alerts.js';
import { type Site, siteSchema } from '../../../src/domain/site.js';
import type { Round } from '../../../src/domain/verdict.js';
import { handClock } from '../../support/hand-clock.js';

const MINUTE = 60_000;
const site = (id: string): Site =>
  siteSchema.parse({
    id,
    name: id,
    latitude: 51,
    longitude: 10,
    zone: 'Europe/Berlin',
    houses: [{ id: `${id}-house`, name: 'House' }],
  });

function start(failFirst = 0) {
  const clock = handClock(0);
  const looks: string[] = [];
  const log: string[] = [];
  const rounds = new EventEmitter();
  const stopping = new AbortController();
  const sites = [site('home'), site('far')];
  let failures = failFirst;
  const done = watchAlerts({
    alerts: {
      evaluate: async (siteId) => {
        looks.push(`${clock.now() / MINUTE} ${siteId}`);
        if (failures-- > 0) throw new Error('the disk is full');
      },
    },
    rounds: {
      today: () => '2026-06-10',
      onRound: (listener) => {
        rounds.on('round', listener);
        return () => rounds.off('round', listener);
      },
    },
    sites: () => sites,
    clock,
    logger: pino({ level: 'error' }, { write: (line: string) => log.push(JSON.parse(line).msg) }),
    signal: stopping.signal,
  });
  return {
    clock,
    looks,
    log,
    sites,
    listeners: () => rounds.listenerCount('round'),
    round: (day: string) => rounds.emit('round', { siteId: 'home', day } as Round),
    stop: async () => {
      stopping.abort();
      await done.catch(() => {});
    },
  };
}

it('looks at every site at once and every five minutes, and after a new list of today', async () => {
  const watch = start();
  await watch.clock.moveTo(12 * MINUTE);
  expect(watch.looks).toEqual(['0 home', '0 far', '5 home', '5 far', '10 home', '10 far']);
  watch.round('2026-06-10');
  watch.round('2026-06-09');
  expect(watch.looks.slice(6)).toEqual(['12 home']);
  watch.sites.splice(1);
  await watch.clock.moveTo(16 * MINUTE);
  expect(watch.looks.slice(7)).toEqual(['15 home']);
  await watch.stop();
});

it('goes on after a look that failed, and says so', async () => {
  const watch = start(1);
  await watch.clock.moveTo(6 * MINUTE);
  expect(watch.looks).toEqual(['0 home', '0 far', '5 home', '5 far']);
  expect(watch.log).toEqual(['the alerts could not be looked at; they stand as they were']);
  await watch.stop();
});

it('stops listening and looking when it is told to', async () => {
  const watch = start();
  await watch.clock.moveTo(MINUTE);
  await watch.stop();
  expect(watch.listeners()).toBe(0);
  const before = watch.looks.length;
  watch.round('2026-06-10');
  expect(watch.looks).toHaveLength(before);
});
