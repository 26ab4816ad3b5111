import { losesFewestUnderTheAdvice } from './mixed-house-year.js';
import { LONDON, PRAGUE } from './places.js';

losesFewestUnderTheAdvice([
  ['maritime', LONDON],
  ['continental', PRAGUE],
]);
