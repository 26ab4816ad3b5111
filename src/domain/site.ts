import { z } from 'zod';
import { isTimeZone } from './time.js';

/** Ids appear in addresses and topics: lower case words joined by hyphens. */
export const idSchema = z
  .string()
  .regex(/^[a-z0-9][a-z0-9-]{0,63}$/, 'lower-case letters, digits and hyphens, at most 64, e.g. north-house');

export const clockTimeSchema = z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$/, 'a time of day such as 05:30');

export const clothInStoreSchema = z.strictObject({
  id: idSchema,
  name: z.string().min(1).max(80),
  /** Nominal shade, share of light held back. */
  shadePct: z.number().min(1).max(95),
  place: z.enum(['inside', 'outside']).default('inside'),
  colour: z.enum(['black', 'white', 'aluminised', 'green']).default('black'),
});
export type ClothInStore = z.infer<typeof clothInStoreSchema>;

export const wateringLineSchema = z.strictObject({
  id: idSchema,
  name: z.string().min(1).max(80),
  /** Flow of the whole line, so that litres can be told as minutes. */
  flowLPerMinute: z.number().positive().max(1000).optional(),
  /** Mist or sprinklers: its water falls on the plants. Left out: it does not. */
  fromAbove: z.boolean().optional(),
});
export type WateringLine = z.infer<typeof wateringLineSchema>;

export const houseSchema = z.strictObject({
  id: idSchema,
  name: z.string().min(1).max(80),
  /** A cover of the catalogue. */
  cover: idSchema.default('single-glass'),
  /** Measured or known share of daylight that reaches the benches, when better known than the catalogue's. */
  transmission: z.number().min(0.05).max(1).optional(),
  /** Heated to this night minimum; absent: unheated. */
  heatToC: z.number().min(-5).max(30).optional(),
  fans: z.boolean().default(false),
  cloths: z.array(clothInStoreSchema).max(20).default([]),
  lines: z.array(wateringLineSchema).max(200).default([]),
});
export type House = z.infer<typeof houseSchema>;

export const siteSchema = z.strictObject({
  id: idSchema,
  name: z.string().min(1).max(80),
  latitude: z.number().min(-90).max(90),
  longitude: z.number().min(-180).max(180),
  elevationM: z.number().min(-450).max(6000).default(0),
  zone: z.string().refine(isTimeZone, 'a time zone name such as Europe/Berlin'),
  /** When the morning list is made, wall clock of the site. */
  roundAt: clockTimeSchema.default('05:00'),
  houses: z.array(houseSchema).min(1).max(200),
});
export type Site = z.infer<typeof siteSchema>;

export const EXPOSURES = ['open', 'under-gutter', 'shaded-side'] as const;

export const findHouse = (site: Site, houseId: string): House | undefined =>
  site.houses.find((house) => house.id === houseId);
