import { losesFewestUnderTheAdvice } from './mixed-house-year.js';
import { ATHENS, JOHANNESBURG, SARASOTA } from './places.js';

losesFewestUnderTheAdvice([
  ['mediterranean', ATHENS],
  ['humid subtropical', SARASOTA],
  ['dry highland, south', JOHANNESBURG],
]);
