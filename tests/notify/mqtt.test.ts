import { expect, it } from 'vitest';
import { createMqtt, publishAlerts } from '../../src/notify/mqtt.js';
import { alert, message, NOW } from './support.js';

it('other programs find the open alerts at the broker', async () => {
  const published: unknown[][] = [];
  await publishAlerts({ publish: async (...given) => void published.push(given) }, 'leafturn', 'home', [alert(1)], NOW);
  const payload = JSON.stringify({ site: 'home', at: '2026-02-25T07:00:00.000Z', alerts: [alert(1)] });
  expect(published).toEqual([['leafturn/home/alerts', payload, { retain: true, qos: 1 }]]);
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
  const hanging = createMqtt({ publish: () => new Promise(() => {}) }, 'leafturn', 50);
  expect(await hanging.send(message(), '', NOW, never)).toEqual({
    kind: 'failed',
    trouble: 'The broker did not take it within 0.05 seconds.',
  });
});
