import { z } from 'zod';
import { ALERT_EVENTS, ALERT_KINDS, ALERT_STATES } from '../../domain/alerts.js';
import { instant } from './common.js';

const doneBy = z.object({ at: instant, by: z.string() });

export const alertView = z
  .object({
    id: z.number().int(),
    siteId: z.string(),
    houseId: z.string().nullable().describe('null: the site as a whole.'),
    subject: z.string().describe('What it is about beside the house: a sensor. Empty: the house or site as a whole.'),
    kind: z.enum(ALERT_KINDS),
    state: z.enum(ALERT_STATES),
    level: z.enum(['warning', 'danger']).optional().describe('The worst it came to so far.'),
    text: z.object({
      title: z.string(),
      reason: z.string(),
      whatToDo: z.string(),
      buys: z.string().optional().describe('What the measure would buy.'),
      caution: z.string().optional(),
    }),
    batchIds: z.array(z.string()).describe('Batches at risk.'),
    probability: z.number().optional().describe('0 to 1; left out where it is no forecast.'),
    expectedAt: instant.optional().describe('When the danger is expected to begin; left out: now.'),
    pendingSince: instant,
    firedAt: instant.optional(),
    resolvedAt: instant.optional(),
    acknowledged: doneBy.optional(),
    snoozedUntil: instant.optional(),
    outcome: z.string().optional().describe('How it turned out, once that can be told.'),
  })
  .meta({ id: 'Alert' });

export const alertHistoryView = alertView
  .extend({
    history: z.array(
      z.object({ at: instant, what: z.enum(ALERT_EVENTS), by: z.string().nullable() }).describe('Oldest first.'),
    ),
  })
  .meta({ id: 'AlertWithHistory' });
