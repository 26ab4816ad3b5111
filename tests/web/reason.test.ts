import { expect, it } from 'vitest';
import type { TraceRow, Verdict } from '../../src/domain/verdict.js';
import { decidingRow, otherTexts, whyTexts } from '../../src/web/parts/reason.js';

const row = (table: string, name: string, met: TraceRow['met'], because?: string, of?: string): TraceRow => ({
  table,
  row: name,
  met,
  conditions: [],
  ...(because && { because, effect: 'no water' }),
  ...(of && { of }),
});

const verdict: Verdict = {
  amount: 'none',
  postponed: false,
  inspect: false,
  lightRamp: false,
  alerts: [],
  mlPerPot: 0,
  sentence: 'Dry. The body is firm.',
  decidedBy: { table: 'policy', row: 'body-firm' },
  vetoes: ['climate/hot-spell'],
  trace: [
    row('stall', 'mild', 'yes', 'Neither heat nor cold holds growth back.'),
    row('policy', 'body-firm', 'no', undefined, 'full drink'),
    row('policy', 'body-firm', 'yes', 'The body is firm.', 'light drink'),
    row('phase', 'growing', 'yes', 'Light drinks only.'),
    row('phase', 'flowering', 'yes', 'Light drinks only.'),
    row('climate', 'hot-spell', 'yes', 'Warm wet soil rots resting roots.'),
    row('climate', 'frost', 'no'),
    row('light', 'hot-spell', 'yes', 'Cloth through the hot spell.'),
  ],
};

it('the rule that decided is the one that is met among those of its name', () => {
  expect(decidingRow(verdict)?.of).toBe('light drink');
  expect(decidingRow({ ...verdict, decidedBy: { table: 'pot', row: 'moist' } })).toBeUndefined();
});

it('why says each reason once, and nothing the sentence has said', () => {
  expect(whyTexts(verdict)).toEqual(['Light drinks only.', 'Warm wet soil rots resting roots.']);
});

it('what else took effect comes apart from why', () => {
  expect(otherTexts(verdict)).toEqual(['Neither heat nor cold holds growth back.', 'Cloth through the hot spell.']);
});
