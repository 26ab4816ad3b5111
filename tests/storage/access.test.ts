import { expect, it } from 'vitest';
import { openTemp, T0 } from './support.js';

it('tokens are kept by their hash, listed, and revoked once', async () => {
  const storage = await openTemp();
  const token = { name: 'phone', role: 'staff', tokenHash: 'a'.repeat(64), createdAt: T0 } as const;
  expect(await storage.access.add(token)).toEqual({ id: 1, ...token, revokedAt: null });
  expect(await storage.access.revoke(1, T0 + 5)).toBe(true);
  expect(await storage.access.revoke(1, T0 + 9)).toBe(false);
  expect(await storage.access.revoke(7, T0)).toBe(false);
  expect(await storage.access.tokens()).toEqual([{ id: 1, ...token, revokedAt: T0 + 5 }]);
});

it('a token that is there already is refused', async () => {
  const storage = await openTemp();
  const token = { name: 'phone', role: 'read', tokenHash: 'same', createdAt: T0 } as const;
  await storage.access.add(token);
  await expect(storage.access.add(token)).rejects.toMatchObject({ code: 'conflict' });
});
