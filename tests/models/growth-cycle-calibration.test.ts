import { describe, expect, it } from 'vitest';
import type { SpeciesGroup } from '../../src/domain/catalogue.js';
import { ringOf } from '../../src/models/cycle-ring.js';
import { labelProbabilities, observeSigns, startCycle, stepCycle } from '../../src/models/growth-cycle.js';
import { logScore } from '../../src/science/scores.js';
import { catalogue } from './catalogue.js';
import { look, type Random, seeded, simulatePlant } from './plant-simulator.js';

const PLANTS = 1000;
const SEED = 20270310;

interface Answer {
  readonly plant: number;
  readonly filter: number;
  readonly calendar: number;
  readonly true: boolean;
}

/** Two looks within three weeks at a random time of the year, then the belief at two times of the hundred days after. */
function ask(group: SpeciesGroup, plant: number, random: Random): Answer[] {
  const year = simulatePlant(group, random);
  let angle = 400 + 360 * random();
  let belief = startCycle(group, angle);
  for (const kind of ['phase', 'sign'] as const) {
    belief = observeSigns(group, belief, look(group, year.labelAt(angle), kind, random));
    angle += 20 * random();
    belief = stepCycle(group, belief, angle);
  }
  const answers: Answer[] = [];
  for (let turn = 0; turn < 2; turn += 1) {
    const filter = labelProbabilities(group, belief);
    const calendar = labelProbabilities(group, startCycle(group, angle));
    for (const label of ringOf(group).labels)
      answers.push({
        plant,
        filter: filter[label] ?? 0,
        calendar: calendar[label] ?? 0,
        true: label === year.labelAt(angle),
      });
    angle += 10 + 80 * random();
    belief = stepCycle(group, belief, angle);
  }
  return answers;
}

/** How often it came when a share was said, decile by decile. */
const reliability = (answers: readonly Answer[]) =>
  Array.from({ length: 10 }, (_, decile) => {
    const inside = answers.filter((one) => Math.min(9, Math.floor(one.filter * 10)) === decile);
    const mean = (value: (one: Answer) => number) => inside.reduce((sum, one) => sum + value(one), 0) / inside.length;
    return {
      said: mean((one) => one.filter),
      came: mean((one) => (one.true ? 1 : 0)),
      // Answers about one plant are not independent of each other.
      plants: new Set(inside.map((one) => one.plant)).size,
    };
  });

const scoreOf = (answers: readonly Answer[], probability: (one: Answer) => number): number =>
  logScore(answers.flatMap((one) => (one.true ? [Math.max(probability(one), 1e-9)] : []))) as number;

describe('a thousand simulated plants of each group, two looks each', { timeout: 120_000 }, () => {
  const random = seeded(SEED);
  const answers = new Map(
    catalogue.speciesGroups.map((group) => [
      group.id,
      Array.from({ length: PLANTS }, (_, plant) => ask(group, plant, random)).flat(),
    ]),
  );

  it.each(catalogue.speciesGroups.map((group) => group.id))('%s: calibrated, and better than the calendar', (id) => {
    const own = answers.get(id) as Answer[];
    expect(scoreOf(own, (one) => one.filter)).toBeLessThan(scoreOf(own, (one) => one.calendar));
    for (const { said, came, plants } of reliability(own)) {
      // Twice the standard error of what so few plants can show comes on top of the 0.05.
      const shown = 2 * Math.sqrt((said * (1 - said)) / Math.max(plants, 1));
      expect(Math.abs(came - said), `said ${said.toFixed(3)}, came ${came.toFixed(3)}`).toBeLessThan(0.05 + shown);
    }
  });

  it('all groups together: within 0.05 in every decile, without allowance', () => {
    const all = [...answers.values()].flatMap((own, group) =>
      own.map((one) => ({ ...one, plant: one.plant + group * PLANTS })),
    );
    for (const { said, came } of reliability(all))
      expect(Math.abs(came - said), `said ${said.toFixed(3)}, came ${came.toFixed(3)}`).toBeLessThan(0.05);
    const gain = scoreOf(all, (one) => one.calendar) - scoreOf(all, (one) => one.filter);
    expect(gain).toBeGreaterThan(0.02);
  });
});
