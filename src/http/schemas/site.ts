import { z } from 'zod';
import { QUANTITY_NAMES } from '../../domain/quantities.js';
import { siteSchema } from '../../domain/site.js';
import { instant, seenSchema } from './common.js';

export const quantitySchema = z.enum(QUANTITY_NAMES);
export const placementSchema = z.enum(['inside', 'outside']);

const { houses: houseList, ...siteFields } = siteSchema.shape;
export const houseConfigSchema = houseList.element;

export const siteView = z
  .object({
    ...siteFields,
    today: z.string().describe('The local day it is there now.'),
    houses: z.array(z.object({ id: z.string(), name: z.string() })),
  })
  .meta({ id: 'Site' });

export const latestValueView = z
  .object({
    sensorId: z.string(),
    benchId: z.string().nullable(),
    placement: placementSchema,
    quantity: quantitySchema,
    value: z.number(),
    unit: z.string(),
    at: instant,
  })
  .meta({ id: 'LatestValue' });

export const houseView = z
  .object({
    ...houseConfigSchema.shape,
    siteId: z.string(),
    clothHung: seenSchema(z.string().nullable()).nullable().describe('null: nobody has said yet.'),
    benches: z.number().int().describe('Benches in the house.'),
    batches: z.number().int().describe('Batches that stand there now.'),
    pots: z.number().int(),
    sensorsHeard: z.number().int(),
    lastReadingAt: instant.nullable(),
    latest: z.array(latestValueView).describe('The newest value of every sensor and quantity.'),
  })
  .meta({ id: 'House' });

export const quantityView = z
  .object({
    quantity: quantitySchema,
    label: z.string(),
    unit: z.string(),
    lowest: z.number(),
    highest: z.number(),
    integralUnit: z.string(),
    holdMinutes: z.number(),
  })
  .meta({ id: 'Quantity' });

export const seriesHealthView = z
  .object({
    quantity: quantitySchema,
    unit: z.string(),
    lastAt: instant.nullable(),
    lastValue: z.number().nullable(),
    lastReceivedAt: instant.nullable(),
    stored: z.number().int(),
    duplicates: z.number().int(),
    refused: z.number().int(),
  })
  .meta({ id: 'SeriesHealth' });

export const refusalCountView = z
  .object({
    siteId: z.string().nullable(),
    sensorId: z.string().nullable(),
    reason: z.string(),
    count: z.number().int(),
    lastAt: instant,
    lastSentence: z.string(),
  })
  .meta({ id: 'RefusalCount' });

export const sensorView = z
  .object({
    siteId: z.string(),
    sensorId: z.string(),
    houseId: z.string().nullable(),
    benchId: z.string().nullable(),
    placement: placementSchema,
    lastReceivedAt: instant.nullable(),
    silentMinutes: z.number().nullable().describe('Minutes since anything came from it.'),
    series: z.array(seriesHealthView),
    refusals: z.array(refusalCountView),
  })
  .meta({ id: 'Sensor' });

export const refusalView = z
  .object({
    id: z.number().int(),
    at: instant,
    topic: z.string(),
    siteId: z.string().nullable(),
    sensorId: z.string().nullable(),
    quantity: quantitySchema.nullable(),
    reason: z.string(),
    sentence: z.string(),
    excerpt: z.string(),
  })
  .meta({ id: 'Refusal' });

const seriesFields = {
  sensorId: z.string(),
  houseId: z.string().nullable(),
  benchId: z.string().nullable(),
  placement: placementSchema,
  quantity: quantitySchema,
  unit: z.string(),
  integralUnit: z.string(),
};
const rollUpFields = {
  startMs: instant,
  count: z.number().int(),
  min: z.number(),
  mean: z.number(),
  max: z.number(),
  integral: z.number(),
  coveredSeconds: z.number(),
};
export const hourlyView = z
  .object({ ...seriesFields, hours: z.array(z.object(rollUpFields)) })
  .meta({ id: 'HourlySeries' });
export const dailyView = z
  .object({ ...seriesFields, days: z.array(z.object({ day: z.string(), ...rollUpFields })) })
  .meta({ id: 'DailySeries' });
export const rawPointView = z
  .object({ at: instant, value: z.number(), flags: z.array(z.string()) })
  .meta({ id: 'ReadingPoint' });
