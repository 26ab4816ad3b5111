import { z } from 'zod';
import { idSchema } from './site.js';

/** Pieces that several sections of the catalogue are made of. */

/** Keys of `sources` in the same file. */
export const sourceKeys = z.array(idSchema).min(1);

/** Degrees of season angle: 0 local autumn equinox, 90 winter solstice, 180 spring equinox, 270 summer solstice. */
const angleDeg = z.number().min(0).lt(360);
/** From the first angle on to the second; may run through 0. */
export const angleWindow = z.tuple([angleDeg, angleDeg]);
export const tempC = z.number().min(-20).max(60);
export const days = z.number().min(0).max(400);
export const range = (bound: z.ZodNumber) =>
  z.tuple([bound, bound]).refine(([low, high]) => low <= high, 'two numbers, the lower first');
