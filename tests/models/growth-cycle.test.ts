import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { beginningOf, LATENESS_WEIGHTS, ringOf, shiftDeg } from '../../src/models/cycle-ring.js';
import {
  type CycleBelief,
  calendarPhase,
  currentPhase,
  DEGREES_PER_DAY,
  labelProbabilities,
  nextChange,
  observeSigns,
  startCycle,
  stepCycle,
  withNeighbours,
} from '../../src/models/growth-cycle.js';
import { PhysicsRangeError } from '../../src/science/guards.js';
import { instantOfSeasonAngle, seasonAngleDeg } from '../../src/science/season.js';
import { catalogue, group } from './catalogue.js';

const lithops = group('lithops-summer-rain');
const conophytum = group('conophytum');
const total = (belief: CycleBelief): number =>
  belief.weights.reduce((sum, weight) => sum + weight, belief.held?.share ?? 0);

/** Day by day over a stretch. */
function over(days: number, from: CycleBelief, of = lithops, drivers = {}): CycleBelief {
  let belief = from;
  for (let day = 0; day < days; day += 1)
    belief = stepCycle(of, belief, belief.seasonAngleDeg + DEGREES_PER_DAY, drivers);
  return belief;
}

describe('the calendar', () => {
  // Seasons of the decision cases and of published calendars: see the catalogue's sources.
  it.each([
    ['lithops-summer-rain', 130, 'leaf-replacement', 'forming'],
    ['lithops-summer-rain', 178, 'leaf-replacement', 'splitting'],
    ['lithops-summer-rain', 245, 'growing', undefined],
    ['lithops-summer-rain', 30, 'flowering', undefined],
    ['lithops-winter-rain', 284, 'dormant-warm', undefined],
    ['conophytum', 292, 'dormant-warm', undefined],
    ['conophytum', 334, 'waking', undefined],
    ['conophytum', 110, 'growing', undefined],
    ['argyroderma', 297, 'dormant-warm', undefined],
    ['monilaria-oophytum', 290, 'dormant-warm', undefined],
    ['faucaria', 110, 'dormant-cold', undefined],
    ['echeveria', 270, 'growing', undefined],
    ['crassula-winter', 180, 'growing', undefined],
  ])('%s at %d° is %s %s', (id, angle, phase, stage) => {
    const view = calendarPhase(group(id), angle);
    expect(view?.phase).toBe(phase);
    expect(view?.stage).toBe(stage);
    expect(view?.probability).toBeGreaterThan(0.5);
  });

  it('says nothing near the equator, where the season angle is undefined', () => {
    expect(calendarPhase(lithops, seasonAngleDeg(Date.UTC(2027, 2, 10), 5))).toBeUndefined();
  });

  it('comes back to itself after a year and keeps its probabilities summing to 1', () => {
    for (const each of catalogue.speciesGroups) {
      const start = startCycle(each, 0);
      let later = start;
      for (let angle = 10; angle <= 360; angle += 10) later = stepCycle(each, later, angle);
      expect(total(later), each.id).toBeCloseTo(1, 9);
      const [before, after] = [labelProbabilities(each, start), labelProbabilities(each, later)];
      for (const [label, share] of Object.entries(before))
        expect(after[label as keyof typeof after], `${each.id} ${label}`).toBeCloseTo(share as number, 2);
    }
  });

  it('has begun a step in nine of ten plants by the end of its window and in one of twenty at its start', () => {
    const at = lithops.cycle.steps.findIndex((step) => step.stage === 'splitting');
    const [forming, splitting] = lithops.cycle.steps.slice(at - 1);
    if (!forming || !splitting) throw new Error('the catalogue has no splitting Lithops');
    const begunBy = (angle: number): number => {
      const shares = labelProbabilities(lithops, startCycle(lithops, angle));
      return (shares.splitting ?? 0) + (shares.papery ?? 0) + (shares.growing ?? 0);
    };
    expect(begunBy(splitting.begins[0])).toBeCloseTo(0.05, 1);
    expect(begunBy(splitting.begins[1])).toBeCloseTo(0.95, 1);
    const { latenessSdDeg, scatterScaleDeg } = beginningOf(splitting, forming);
    const sd = Math.hypot(latenessSdDeg, (scatterScaleDeg * Math.PI) / Math.sqrt(3));
    expect(sd).toBeCloseTo(55 / 3.29, 1);
    expect(LATENESS_WEIGHTS.reduce((sum, weight) => sum + weight, 0)).toBeCloseTo(1, 12);
  });
});

describe('guards', () => {
  it('refuse NaN for the season and for the weather', () => {
    expect(() => startCycle(lithops, Number.NaN)).toThrow(PhysicsRangeError);
    expect(() => stepCycle(lithops, startCycle(lithops, 10), Number.NaN)).toThrow(PhysicsRangeError);
    expect(() => stepCycle(conophytum, startCycle(conophytum, 300), 310, { nightMinC: Number.NaN })).toThrow(/driver/);
  });
});

describe('mirrored hemispheres', () => {
  it('agree exactly at the same season angle, with the same looks', () => {
    for (const angle of [20, 130, 178, 240, 300]) {
      const views = [51, -51].map((latitude) => {
        const at = instantOfSeasonAngle(angle, latitude, Date.UTC(2026, 0, 1)) as number;
        const seen = Math.round((seasonAngleDeg(at, latitude) as number) * 1e4) / 1e4;
        const looked = observeSigns(lithops, startCycle(lithops, seen), { newPair: 'firm', oldPair: 'soft' });
        return currentPhase(lithops, over(30, looked));
      });
      expect(views[0]).toEqual(views[1]);
    }
  });
});

describe('what the weather shifts', () => {
  it('warm nights hold Conophytum in its sheath, cool ones wake it sooner', () => {
    const start = startCycle(conophytum, 290);
    const asleep = (nightMinC: number | undefined) =>
      labelProbabilities(conophytum, over(30, start, conophytum, nightMinC === undefined ? {} : { nightMinC }))[
        'dormant-warm'
      ] as number;
    expect(asleep(22)).toBeGreaterThan(asleep(undefined));
    expect(asleep(undefined)).toBeGreaterThan(asleep(11));
  });
  it('heat sends more Lithops into warm rest than a cool summer, and what is not known shifts nothing', () => {
    const resting = (dayMaxC: number) =>
      labelProbabilities(lithops, over(40, startCycle(lithops, 260), lithops, { dayMaxC }))['dormant-warm'] as number;
    expect(resting(38)).toBeGreaterThan(0.8);
    expect(resting(25)).toBeLessThan(0.1);
    const step = conophytum.cycle.steps[0];
    expect(step && shiftDeg(step, {})).toBe(0);
    expect(step && shiftDeg(step, { nightMinC: 20 })).toBe(10);
    expect(step && shiftDeg(step, { nightMinC: 12 })).toBe(-10);
  });
});

describe('signs', () => {
  it('a visible firm new pair turns forming into splitting', () => {
    const start = startCycle(lithops, 145);
    expect(currentPhase(lithops, start).stage).toBe('forming');
    const seen = observeSigns(lithops, start, { newPair: 'firm', oldPair: 'shrivelled' });
    expect(currentPhase(lithops, seen)).toMatchObject({ phase: 'leaf-replacement', stage: 'splitting' });
    expect(seen.looks).toBe(1);
  });
  it('the same look on the next day says little more, a look a month later counts again', () => {
    const start = startCycle(lithops, 145);
    const splitting = (belief: CycleBelief) => labelProbabilities(lithops, belief).splitting as number;
    const once = observeSigns(lithops, start, { newPair: 'firm' });
    const twice = observeSigns(lithops, over(1, once), { newPair: 'firm' });
    expect(splitting(twice) - splitting(over(1, once))).toBeLessThan(0.3 * (splitting(once) - splitting(start)));
  });
  it('an early plant is believed early in its next steps too', () => {
    const start = startCycle(lithops, 125);
    const early = observeSigns(lithops, start, { phase: 'leaf-replacement', stage: 'splitting' });
    const papery = (belief: CycleBelief) => {
      const shares = labelProbabilities(lithops, belief);
      return (shares.papery ?? 0) + (shares.growing ?? 0);
    };
    expect(papery(over(70, early))).toBeGreaterThan(papery(over(70, start)) + 0.1);
  });
  it('signs the group cannot show say nothing', () => {
    const start = startCycle(group('echeveria'), 200);
    expect(observeSigns(group('echeveria'), start, { newPair: 'firm', sheathed: true })).toEqual(start);
  });
  it('probabilities sum to 1 whatever is seen, in whatever order', () => {
    const seen = fc.record(
      {
        newPair: fc.constantFrom('hidden' as const, 'firm' as const, 'soft' as const),
        oldPair: fc.constantFrom('firm' as const, 'shrivelled' as const, 'papery' as const),
        sheathed: fc.boolean(),
        phase: fc.constantFrom('growing' as const, 'flowering' as const, 'dormant-cold' as const, 'seed-set' as const),
      },
      { requiredKeys: [] },
    );
    const turns = fc.array(fc.record({ seen, days: fc.integer({ min: 0, max: 40 }) }), { maxLength: 8 });
    fc.assert(
      fc.property(
        fc.constantFrom(...catalogue.speciesGroups),
        fc.double({ min: 0, max: 359, noNaN: true }),
        turns,
        (each, angle, list) => {
          let belief = startCycle(each, angle);
          for (const turn of list) belief = over(turn.days, observeSigns(each, belief, turn.seen), each);
          expect(total(belief)).toBeCloseTo(1, 6);
          expect(belief.weights.every((weight) => weight >= 0)).toBe(true);
        },
      ),
      { numRuns: 60 },
    );
  });
});

describe('an entered phase', () => {
  it('stands on the day it is entered, even against the calendar', () => {
    for (const each of catalogue.speciesGroups)
      for (const phase of ['growing', 'flowering', 'seed-set', 'dormant-warm', 'dormant-cold', 'waking'] as const) {
        const view = currentPhase(each, observeSigns(each, startCycle(each, 150), { phase }));
        expect(view.phase, `${each.id} ${phase}`).toBe(phase);
        expect(view.probability).toBeGreaterThanOrEqual(0.6 - 1e-9);
      }
  });
  it('holds for a fortnight and then drifts with the calendar', () => {
    const entered = observeSigns(lithops, startCycle(lithops, 175), { phase: 'dormant-cold' });
    const resting = (days: number) => labelProbabilities(lithops, over(days, entered))['dormant-cold'] ?? 0;
    expect(resting(14)).toBeGreaterThan(0.75);
    expect(resting(45)).toBeLessThan(0.4);
    expect(currentPhase(lithops, over(75, entered)).phase).toBe('growing');
  });
  it('gives way to a later entry', () => {
    const first = observeSigns(lithops, startCycle(lithops, 175), { phase: 'dormant-cold' });
    const second = observeSigns(lithops, over(3, first), { phase: 'leaf-replacement', stage: 'papery' });
    expect(currentPhase(lithops, second)).toMatchObject({ phase: 'leaf-replacement', stage: 'papery' });
  });
  it('a replacement without a stage takes the likeliest one', () => {
    const view = currentPhase(lithops, observeSigns(lithops, startCycle(lithops, 178), { phase: 'leaf-replacement' }));
    expect(view).toMatchObject({ phase: 'leaf-replacement', stage: 'splitting' });
  });
});

describe('the next change', () => {
  it('comes in about the days between now and the middle of the next window', () => {
    const change = nextChange(
      lithops,
      observeSigns(lithops, startCycle(lithops, 178), { newPair: 'firm', oldPair: 'soft' }),
    );
    // Papery begins between 188° and 225°, in the middle at 206.5°.
    expect(change).toMatchObject({ phase: 'leaf-replacement', stage: 'papery' });
    expect(change?.days).toBeGreaterThan(15);
    expect(change?.days).toBeLessThan(45);
    expect(change?.earlyDays).toBeLessThan(change?.days as number);
    expect(change?.lateDays).toBeGreaterThan(change?.days as number);
  });
  it('agrees with stepping: half of the plants have left the phase by then', () => {
    const belief = observeSigns(conophytum, startCycle(conophytum, 280), { sheathed: true });
    const change = nextChange(conophytum, belief);
    const now = labelProbabilities(conophytum, belief)['dormant-warm'] as number;
    const then = labelProbabilities(conophytum, over(Math.round(change?.days ?? 0), belief, conophytum))[
      'dormant-warm'
    ];
    expect((then as number) / now).toBeCloseTo(0.5, 1);
    expect(change?.phase).toBe('waking');
  });
  it('of a held phase is the day the calendar takes over', () => {
    const held = observeSigns(lithops, startCycle(lithops, 175), { phase: 'dormant-cold' });
    const change = nextChange(lithops, held);
    expect(change?.days).toBeGreaterThan(30);
    expect(change?.days).toBeLessThan(45);
  });
});

describe('neighbours', () => {
  const own = startCycle(lithops, 150);
  const splitting = observeSigns(lithops, own, { phase: 'leaf-replacement', stage: 'splitting' });
  it('nudge a batch nobody has looked at, visibly and weakly', () => {
    const one = withNeighbours(lithops, own, [splitting]);
    expect(one.neighbours).toBe(1);
    const [before, after] = [one.own.probabilities.splitting as number, one.probabilities.splitting as number];
    expect(after).toBeGreaterThan(before);
    expect(after - before).toBeLessThan(0.15);
    const many = withNeighbours(lithops, own, new Array(30).fill(splitting));
    expect(many.probabilities.splitting as number).toBeGreaterThan(after);
    expect(many.probabilities.splitting as number).toBeLessThan(0.85);
  });
  it('that were never looked at, or are of another group, say nothing', () => {
    const view = withNeighbours(lithops, own, [startCycle(lithops, 150), { ...splitting, groupId: 'faucaria' }]);
    expect(view.neighbours).toBe(0);
    expect(view.probabilities).toEqual(view.own.probabilities);
  });
  it('hardly move a batch whose own signs are clear', () => {
    const clear = observeSigns(lithops, own, { phase: 'leaf-replacement', stage: 'forming' });
    expect(withNeighbours(lithops, clear, new Array(5).fill(splitting)).stage).toBe('forming');
  });
});

describe('the ring', () => {
  it('lets a skipped step keep the label of the one before it', () => {
    const labels = ringOf(lithops).states.map((state) => state.label);
    // Growing twice a year, and once more for plants that do not flower, and those that skip the warm rest.
    expect(labels.filter((label) => label === 'growing').length).toBe(4);
  });
});
