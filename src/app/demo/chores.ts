import type { TaskKind } from '../../domain/tasks.js';
import { withinSeasonWindow } from '../../science/season.js';
import { usualStep, waterPhaseOf } from './season.js';
import type { Telling, Told } from './telling.js';

/** What the invented people do beside the watering, and what they leave undone so that the first list has it. */

/** Days between two looks for a pest. */
const LOOKS: readonly { readonly task: TaskKind; readonly everyDays: number }[] = [
  { task: 'inspect-mealybugs', everyDays: 30 },
  { task: 'inspect-mites', everyDays: 12 },
  { task: 'inspect-gnats', everyDays: 14 },
];
/** One house of each site was not looked at for so long. */
const FORGOTTEN_DAYS = 55;
/** Feeding falls on days on which the people water. */
const FEED_EVERY_DAYS = 27;
const FEED_FIRST_DAY = 10;
const SEEDLING_MONTHS = 12;

export function chores(telling: Telling, day: number): void {
  looks(telling, day);
  if (day % FEED_EVERY_DAYS === FEED_FIRST_DAY) feeding(telling, day);
  pollination(telling, day);
  if ([0.2, 0.5, 0.75].some((share) => day === Math.round(telling.days * share))) repotting(telling, day);
  if (day === Math.round(telling.days * 0.4)) sowing(telling, day);
  if (day === telling.days - 6) seed(telling, day);
}

function looks({ input, days, write }: Telling, day: number): void {
  const { houses } = input.site;
  houses.forEach((house, index) => {
    if (index === houses.length - 1 && day > days - FORGOTTEN_DAYS) return;
    for (const { task, everyDays } of LOOKS)
      if (day % everyDays === 1 + index)
        write(day, '11:20', input.demo.people.hand, { kind: 'task-done', task, houseId: house.id });
  });
}

/** The plants that were watered this morning got food with it; every third bench was left out. */
function feeding({ input, batches, write, chance, seasonOn }: Telling, day: number): void {
  const isFed = (told: Told, index: number): boolean =>
    told.lastDrinkDay === day &&
    chance('feed', day * 1000 + index) < 0.7 &&
    (told.batch.ageMonths < SEEDLING_MONTHS ||
      (told.lastAmount === 'full' && usualStep(told.group, seasonOn(day)).phase === 'growing'));
  const batchIds = batches.filter(isFed).map(({ id }) => id);
  if (batchIds.length > 0) write(day, '08:30', input.demo.people.grower, { kind: 'task-done', task: 'feed', batchIds });
}

/** Two days after the first flower was noted, and again two days later. */
function pollination({ input, batches, write, chance, seasonOn }: Telling, day: number): void {
  batches.forEach((told, index) => {
    const flowersOn = (at: number): boolean =>
      at > told.arrives && usualStep(told.group, seasonOn(at)).phase === 'flowering';
    const began = [2, 4].some((ago) => day - ago > 0 && flowersOn(day - ago) && !flowersOn(day - ago - 1));
    if (told.watched && began && chance('pollinate', index) < 0.6)
      write(day, '16:00', input.demo.people.grower, { kind: 'task-done', task: 'pollinate', batchIds: [told.id] });
  });
}

/** Every other batch whose own growth begins. */
function repotting({ input, batches, write, chance, seasonOn }: Telling, day: number): void {
  const season = seasonOn(day);
  batches.forEach((told, index) => {
    const task = told.group.tasks.find(({ kind }) => kind === 'repot');
    const suits =
      task?.seasons.some((window) => withinSeasonWindow(season, window)) &&
      task.phases.includes(waterPhaseOf(usualStep(told.group, season))) &&
      told.batch.ageMonths >= SEEDLING_MONTHS &&
      day > told.arrives;
    if (!suits || chance('repot', day * 1000 + index) > 0.5) return;
    write(day, '14:20', input.demo.people.hand, { kind: 'repotting', batchIds: [told.id], rootsCut: true });
    told.lastDrinkDay = Math.max(told.lastDrinkDay, day);
  });
}

/** Half of the groups whose season it is. */
function sowing({ input, batches, write, seasonOn }: Telling, day: number): void {
  const groups = new Map(batches.filter(({ arrives }) => arrives < day).map((told) => [told.group.id, told]));
  const open = [...groups.values()].filter(({ group }) =>
    group.tasks.some(
      ({ kind, seasons }) => kind === 'sow' && seasons.some((window) => withinSeasonWindow(seasonOn(day), window)),
    ),
  );
  const batchIds = open.filter((_, index) => index % 2 === 0).map(({ id }) => id);
  if (batchIds.length > 0) write(day, '15:40', input.demo.people.grower, { kind: 'task-done', task: 'sow', batchIds });
}

/** Somebody saw capsules on one batch. The last one that suits: the first ones have stories of their own. */
function seed({ input, days, batches, write, seasonOn }: Telling, day: number): void {
  const ripe = batches.findLast(
    ({ group, batch, watched }) =>
      !watched &&
      batch.ageMonths >= SEEDLING_MONTHS &&
      group.calendar.seedRipe.some((window) => withinSeasonWindow(seasonOn(days), window)),
  );
  if (ripe) write(day, '10:40', input.demo.people.grower, { kind: 'signs', batchIds: [ripe.id], phase: 'seed-set' });
}
