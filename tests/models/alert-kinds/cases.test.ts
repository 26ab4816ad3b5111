import { describe, expect, it } from 'vitest';
import { instantOnDay } from '../../../src/domain/time.js';
import { burnRisk } from '../../../src/models/alert-kinds/burn-risk.js';
import { frost } from '../../../src/models/alert-kinds/frost.js';
import { hotSpell } from '../../../src/models/alert-kinds/hot-spell.js';
import { wetNight } from '../../../src/models/alert-kinds/wet-night.js';
import { factsOf, houseCases, ZONE } from './house-case.js';

const LOOKS = { 'hot-spell': hotSpell, frost, 'wet-night': wetNight, 'burn-risk': burnRisk };

describe('weather alerts of a house', () => {
  it.each(houseCases.map((one) => [`${one.id} ${one.note}`, one] as const))('%s', (_, one) => {
    const finding = LOOKS[one.kind](factsOf(one));
    const wanted = one.expect;
    expect(finding).toMatchObject({ kind: one.kind, houseId: 'north', subject: '' });
    if (wanted.known === false || finding.known !== true) {
      expect(finding.known).toBe(wanted.known ?? true);
      return;
    }
    expect(finding.level).toBe(wanted.level);
    if (finding.level === 0) {
      expect(finding.clear).toBe(wanted.clear);
      return;
    }
    const { detail } = finding;
    if (wanted.atOnce !== undefined) expect(finding.atOnce ?? false).toBe(wanted.atOnce);
    if (wanted.batches) expect(detail.batchIds).toEqual(wanted.batches);
    if (wanted.probability) {
      expect(detail.probability).toBeGreaterThanOrEqual(wanted.probability[0]);
      expect(detail.probability).toBeLessThanOrEqual(wanted.probability[1]);
    }
    if (wanted.expectedAt === null) expect(detail.expectedAt).toBeUndefined();
    if (wanted.expectedAt) {
      const [day = '', clock = ''] = wanted.expectedAt.split(' ');
      expect(detail.expectedAt).toBe(instantOnDay(ZONE, day, clock));
    }
    const { title, reason, whatToDo, caution } = detail.text;
    const said = [title, reason, whatToDo, caution].join(' ');
    for (const words of wanted.says ?? []) expect(said).toContain(words);
    for (const words of wanted.saysNot ?? []) expect(said).not.toContain(words);
    // What people do about it is done in heat, or near electricity.
    expect(caution).toMatch(/dangerous for people|licensed electrician/);
    expect(said).not.toMatch(/undefined|NaN|Infinity|null|\s\s/);
  });

  it('have cases of their own, each with its source', () => {
    expect(new Set(houseCases.map(({ id }) => id)).size).toBe(houseCases.length);
    expect(houseCases.length).toBeGreaterThanOrEqual(50);
    for (const { source } of houseCases) expect(source.length).toBeGreaterThan(10);
  });
});
