import { expect, it } from 'vitest';
import { inSeries } from '../../src/domain/wording.js';

it('names in a series are read as people say them', () => {
  expect([[], ['a'], ['a', 'b'], ['a', 'b', 'c']].map(inSeries)).toEqual(['', 'a', 'a and b', 'a, b and c']);
});
