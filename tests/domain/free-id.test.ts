import { expect, it } from 'vitest';
import { freeId } from '../../src/domain/free-id.js';
import { idSchema } from '../../src/domain/site.js';

it.each([
  ['Conophytum, seedlings 2024', 'conophytum-seedlings-2024'],
  ['  Große Schale: Süd  ', 'grosse-schale-sud'],
  ['№ 7', 'no-7'],
  ['石', 'batch'],
  ['a'.repeat(80), 'a'.repeat(56)],
  [`${'a'.repeat(55)} b c`, 'a'.repeat(55)],
])('%s becomes %s', (name, id) => {
  expect(freeId(name, () => false, 'batch')).toBe(id);
  expect(idSchema.safeParse(id).success).toBe(true);
});

it('one that is taken gets a number, the lowest that is free', () => {
  const taken = new Set(['tray', 'tray-2', 'tray-4']);
  expect(freeId('Tray', (id) => taken.has(id), 'batch')).toBe('tray-3');
});
