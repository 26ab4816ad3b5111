import { expect, it } from 'vitest';
import { createTurns } from '../../src/advice/turns.js';

it('does the work of one key in order, that of others meanwhile, and goes on after a failure', async () => {
  const inTurn = createTurns();
  const done: string[] = [];
  const open: (() => void)[] = [];
  const gate = new Promise<void>((resolve) => open.push(resolve));
  const first = inTurn('a', async () => {
    await gate;
    done.push('first');
    throw new Error('the disk is full');
  });
  const second = inTurn('a', async () => done.push('second'));
  await inTurn('b', async () => done.push('other'));
  expect(done).toEqual(['other']);
  open[0]?.();
  await expect(first).rejects.toThrow('the disk is full');
  await second;
  expect(done).toEqual(['other', 'first', 'second']);
});
