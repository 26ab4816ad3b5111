import { mkdtempSync } from 'node:fs';
import { statfs } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { diskCheck, freeBytes } from '../../../src/app/service/upkeep.js';

it('the room that counts is that of the disk on which the database lies, also before its file is there', async () => {
  const path = join(mkdtempSync(join(tmpdir(), 'leafturn-')), 'elsewhere.sqlite');
  const { bsize, blocks } = await statfs(tmpdir());
  const free = await freeBytes(path);
  expect(free).toBeGreaterThan(0);
  expect(free).toBeLessThanOrEqual(bsize * blocks);
  expect(await diskCheck(path)).toMatchObject({ part: 'disk' });
  await expect(freeBytes(join(path, 'not', 'there.sqlite'))).rejects.toMatchObject({ code: 'ENOENT' });
});
