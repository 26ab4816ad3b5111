import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { checkFeedFile } from '../../src/app/commands/feed.js';
import { tempFolder } from '../ingest/support.js';
import { sharedVerification } from '../support/shared-data.js';

function io() {
  const lines: string[] = [];
  const write = (text: string) => lines.push(text.trimEnd());
  return { lines, io: { stdout: { write }, stderr: { write }, env: {}, workingFolder: '/', now: () => 0 } as never };
}

describe('feed check', () => {
  test('every sample message becomes the readings and errors it must become', async () => {
    const file = sharedVerification('feed-samples.json');
    if (!file) return;
    const samples = JSON.parse(readFileSync(file, 'utf8')).samples.length;
    const { lines, io: to } = io();
    expect(await checkFeedFile(file, to)).toBe(0);
    expect(lines).toEqual([`${samples} passed, 0 failed`]);
  });

  test('a sample that is read otherwise is told, and the exit code says so', async () => {
    const file = join(tempFolder(), 'samples.json');
    const sample = (id: string, expected: object) => ({
      id,
      topic: 'gh/a/air',
      payload: '{"t":20,"rh":"x"}',
      received_at: 1_780_315_200_000,
      expected,
    });
    const reading = { sensor: 'a', metric: 'air_temperature', value: 20, ts: 1_780_315_200_000, ts_source: 'received' };
    const errors = [{ kind: 'not_a_number' }];
    writeFileSync(
      file,
      JSON.stringify({
        policy: {},
        mappings: {
          air: {
            topic: 'gh/+/air',
            format: 'json',
            sensor: '{1}',
            fields: [
              { ptr: '/t', metric: 'air_temperature', unit: 'Cel' },
              { ptr: '/rh', metric: 'relative_humidity', unit: '%' },
            ],
          },
        },
        samples: [
          sample('right', { readings: [reading], errors }),
          sample('value', { readings: [{ ...reading, value: 21 }], errors }),
          sample('error', { readings: [reading], errors: [] }),
        ],
      }),
    );
    const { lines, io: to } = io();
    expect(await checkFeedFile(file, to)).toBe(1);
    expect(lines.at(-1)).toBe('1 passed, 2 failed');
    expect(lines).toContain('  unexpected error: not_a_number');
  });

  test.each([
    ['not there', undefined, 'file-failed'],
    ['not JSON', '{', 'invalid-input'],
    ['another form', '{"samples":[]}', 'invalid-input'],
  ])('a file that is %s is told', async (_what, text, code) => {
    const file = join(tempFolder(), 'samples.json');
    if (text !== undefined) writeFileSync(file, text);
    await expect(checkFeedFile(file, io().io)).rejects.toMatchObject({ code });
  });
});
