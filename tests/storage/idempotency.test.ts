import { expect, it } from 'vitest';
import { openTemp, T0 } from './support.js';

const HOUR_MS = 3_600_000;

it('a key goes from new through running to its answer', async () => {
  const { idempotency } = await openTemp();
  expect(await idempotency.begin('k', 'h1', T0)).toBe('new');
  expect(await idempotency.begin('k', 'h1', T0 + 1000)).toBe('running');
  await idempotency.finish('k', 201, '{"id":1}');
  // The hash comes along: whoever asks sees whether the key was used for something else.
  expect(await idempotency.begin('k', 'h2', T0 + 2000)).toEqual({ requestHash: 'h1', status: 201, body: '{"id":1}' });
});

it('of many that begin at once one may work', async () => {
  const { idempotency } = await openTemp();
  const begun = await Promise.all(Array.from({ length: 20 }, () => idempotency.begin('k', 'h', T0)));
  expect(begun.filter((answer) => answer === 'new')).toHaveLength(1);
});

it('a key whose work failed, or whose process died, may be tried again; an answer is never forgotten that way', async () => {
  const { idempotency } = await openTemp();
  await idempotency.begin('failed', 'h', T0);
  await idempotency.abandon('failed');
  expect(await idempotency.begin('failed', 'h', T0 + 1)).toBe('new');
  await idempotency.begin('died', 'h', T0);
  expect(await idempotency.begin('died', 'h2', T0 + 2 * 60_000)).toBe('new');
  await idempotency.finish('died', 200, 'x');
  await idempotency.abandon('died');
  expect(await idempotency.begin('died', 'h2', T0 + HOUR_MS)).toMatchObject({ status: 200, requestHash: 'h2' });
});

it('keys past their hours are pruned', async () => {
  const { idempotency, upkeep } = await openTemp();
  await idempotency.begin('old', 'h', T0);
  await idempotency.finish('old', 200, '');
  await idempotency.begin('young', 'h', T0 + 2 * HOUR_MS);
  await idempotency.finish('young', 200, '');
  const retention = {
    readingsDays: 1,
    hourlyDays: 1,
    refusalsKept: 1,
    idempotencyHours: 2,
    roundRevisionsDays: 1,
    forecastsDays: 400,
  };
  await upkeep.pruneStep(retention, T0 + 3 * HOUR_MS);
  expect(await idempotency.begin('old', 'h', T0 + 3 * HOUR_MS)).toBe('new');
  expect(await idempotency.begin('young', 'h', T0 + 3 * HOUR_MS)).toMatchObject({ status: 200 });
});
