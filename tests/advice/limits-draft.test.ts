import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { differencesOf, draftOfToday } from '../../src/advice/limits-draft.js';
import { addDays } from '../../src/domain/time.js';
import type { Verdict } from '../../src/domain/verdict.js';
import { adviceOn, MILD, type Nursery, openNursery, plantSoft } from '../support/nursery.js';

const DAY = '2026-06-10';

describe('what the list of today would say under a draft', () => {
  let nursery: Nursery;
  beforeEach(async () => {
    nursery = await openNursery();
    await plantSoft(nursery, DAY);
    await nursery.readings(addDays(DAY, -61), addDays(DAY, -1), MILD);
    await nursery.readings(DAY, DAY, MILD, (at) => at < nursery.now);
  });
  afterEach(() => nursery.close());

  it('names the batches that would be told something else, before and after, and the lines', async () => {
    const list = await nursery.rounds.make('home', DAY);
    const ml = adviceOn(list, 'thirsty').verdict.mlPerPot;
    const draft = draftOfToday(
      await nursery.rounds.tryLimits('home', 'north', [{ name: 'drink-gap', group: 'echeveria', value: 60 }]),
    );
    expect(draft).toMatchObject({ day: DAY, batches: 3 });
    expect(draft.differing.map(({ batchId }) => batchId)).toEqual(['thirsty', 'firm']);
    expect(draft.differing[0]).toMatchObject({
      name: 'Batch thirsty',
      benchName: 'Bench 1',
      potCount: 20,
      differences: expect.arrayContaining([
        { what: 'drink', before: `a full drink, ${ml} mL a pot`, after: 'leave dry' },
      ]),
      sentence: expect.stringMatching(/dry for .* at least 60 days/),
    });
    expect(draft.lines).toEqual([
      { name: 'Line A', before: expect.stringMatching(/^Run/), after: expect.stringMatching(/^Leave|^Nothing/) },
    ]);
  });

  it('names none where nobody would do anything else', async () => {
    const draft = draftOfToday(await nursery.rounds.tryLimits('home', 'north', [{ name: 'burn-leaf', value: 47 }]));
    expect(draft).toEqual({ day: DAY, batches: 3, differing: [], lines: [] });
  });
});

describe('the difference of two verdicts', () => {
  const verdict = (more: Partial<Verdict>): Verdict => ({
    amount: 'none',
    postponed: false,
    inspect: false,
    lightRamp: false,
    shade: null,
    alerts: [],
    mlPerPot: 0,
    sentence: '',
    decidedBy: { table: 'policy', row: 'gap' },
    vetoes: [],
    trace: [],
    ...more,
  });
  const light = { amount: 'light', mlPerPot: 12 } as const;
  const { shade: _shade, ...lightUnknown } = verdict({});

  it.each<[Verdict, Verdict, string[]]>([
    [verdict({}), verdict({ sentence: 'another', vetoes: ['climate/hot-spell'] }), []],
    [verdict({}), verdict(light), ['drink: leave dry → a light drink, 12 mL a pot']],
    [
      verdict(light),
      verdict({ ...light, mlPerPot: 20 }),
      ['drink: a light drink, 12 mL a pot → a light drink, 20 mL a pot'],
    ],
    [
      verdict({ inspect: true }),
      verdict({ ...light, inspect: true }),
      ['drink: look first → look first, then a light drink, 12 mL a pot'],
    ],
    [
      verdict({ postponed: true }),
      verdict({ postponed: true, postponedUntil: '2026-06-12' }),
      ['drink: wait, not today → wait until 2026-06-12'],
    ],
    [verdict({ doses: { count: 3, gapDays: 5 } }), verdict({}), ['doses: 3 doses, 5 days apart → all at once']],
    [
      verdict({ window: 'evening' }),
      verdict({ window: 'by-09' }),
      ['time of day: in the evening → before 9 o’clock sun time'],
    ],
    [verdict({}), verdict({ shade: { minPct: 30, maxPct: 50 } }), ['cloth: none → 30 to 50 %']],
    [lightUnknown, verdict({ shade: { minPct: 40, maxPct: 40 } }), ['cloth: not known → 40 %']],
    [
      verdict({}),
      verdict({ lightRamp: true, alerts: ['hot-spell', 'frost'] }),
      ['light: as it is → raised in steps', 'warnings: none → hot spell, frost'],
    ],
  ])('is told in words', (before, after, words) => {
    expect(differencesOf(before, after).map((one) => `${one.what}: ${one.before} → ${one.after}`)).toEqual(words);
  });
});
