import { expect, it } from 'vitest';
import { createMqtt, openAlerts } from '../../src/notify/mqtt.js';
import { alert, message, NOW } from './support.js';

it('other programs get what was told, not what is pending or over', () => {
  const alerts = [
    alert(1),
    alert(2, { state: 'held' }),
    alert(3, { state: 'pending' }),
    alert(4, { state: 'resolved' }),
  ];
  expect(openAlerts('home', alerts, NOW)).toEqual({
    site: 'home',
    at: '2026-02-25T07:00:00.000Z',
    alerts: [alert(1), alert(2, { state: 'held' })],
  });
});

it('a test goes to a topic of its own and is not kept; what the broker says is told in words', async () => {
  const published: unknown[][] = [];
  const never = new AbortController().signal;
  const good = createMqtt({ publish: async (...given) => void published.push(given) }, 'leafturn');
  expect(good.takes(message())).toBe(false);
  expect(await good.send(message({ kind: 'test' }), '', NOW, never)).toEqual({ kind: 'sent' });
  expect(published).toEqual([['leafturn/home/test', expect.stringContaining('"type":"test"'), { qos: 1 }]]);
  const bad = createMqtt({ publish: () => Promise.reject(new Error('It is away.')) }, 'leafturn');
  expect(await bad.send(message(), '', NOW, never)).toEqual({
    kind: 'failed',
    trouble: 'The broker did not take it: It is away.',
  });
});
