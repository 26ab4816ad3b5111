import { describe, expect, it } from 'vitest';
import { type SpeciesTask, taskSchema } from '../../src/domain/tasks.js';

const FEED = { kind: 'feed' as const, source: ['practice'], text: 'Feed weakly.' };
const MITES = {
  kind: 'inspect-mites',
  source: ['practice'],
  text: 'Look for mites.',
  triggers: [{ kind: 'degree-days', pest: 'spider mite', lowerC: 12.5, degreeDays: 146.5, unknownEveryDays: 14 }],
};

const wrong = (task: object): string[] => {
  const result = taskSchema.safeParse(task);
  return result.success ? [] : result.error.issues.map(({ path, message }) => `${path.join('.')}: ${message}`);
};

describe('a task of the catalogue', () => {
  it('asks for nothing it was not told to ask', () => {
    expect(taskSchema.parse(FEED)).toEqual({
      ...FEED,
      seasons: [],
      phases: [],
      notWhile: [],
      inFlowerHours: false,
      triggers: [],
    } satisfies SpeciesTask);
    expect(wrong(MITES)).toEqual([]);
  });

  it.each([
    ['a kind nobody knows', { ...FEED, kind: 'wash' }, /^kind: /],
    ['no source', { ...FEED, source: [] }, /^source: /],
    ['a season that is none', { ...FEED, seasons: [[10, 400]] }, /^seasons\.0\.1: /],
    ['an age upside down', { ...FEED, ageMonths: [12, 2] }, /^ageMonths: two numbers, the lower first/],
    [
      'a trigger of a task the weather does not call for',
      { ...FEED, triggers: MITES.triggers },
      /^triggers: none with feed/,
    ],
    [
      'a look for pests that nothing calls for',
      { ...MITES, triggers: [] },
      /^triggers: at least one with inspect-mites/,
    ],
    [
      'a generation without warmth',
      { ...MITES, triggers: [{ ...MITES.triggers[0], degreeDays: 0 }] },
      /^triggers\.0\.degreeDays: /,
    ],
    ['flower hours of a task without flowers', { ...FEED, inFlowerHours: true }, /^inFlowerHours: only with/],
    ['a key nobody knows', { ...FEED, often: 3 }, /often/],
  ])('is refused with its place: %s', (_what, task, told) => {
    expect(wrong(task)).toEqual([expect.stringMatching(told)]);
  });
});
