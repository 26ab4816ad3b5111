import { usualDrink, usualStep } from './season.js';
import { mlPerPot, type Telling, type Told } from './telling.js';

/** What the first list of the demo should have to say something about. Each case takes a batch that suits the season. */
export interface SpecialCases {
  /** Replacing its leaves, and the new pair is soft as well. */
  readonly bothPairsSoft?: Told | undefined;
  /** Wants water, but the pot has not dried since the last. */
  readonly stillMoist?: Told | undefined;
  readonly rotten?: Told | undefined;
  readonly repotted?: Told | undefined;
  readonly movedIntoLight?: Told | undefined;
  /** Badly sunken. */
  readonly sunken?: Told | undefined;
  readonly stretched?: Told | undefined;
  readonly thirsty: readonly Told[];
}

export function chooseSpecialCases({ days, batches, seasonOn }: Telling): SpecialCases {
  const season = seasonOn(days);
  const free = batches.filter(({ batch }) => batch.ageMonths >= 12);
  const take = (...tests: ((told: Told) => boolean)[]): Told | undefined => {
    for (const test of tests) {
      const index = free.findIndex(test);
      if (index >= 0) return free.splice(index, 1)[0];
    }
    return undefined;
  };
  const stepOf = (told: Told) => usualStep(told.group, season);
  const replacing = (stage: string) => (told: Told) =>
    told.group.leafChange === 'pair' && stepOf(told).phase === 'leaf-replacement' && stepOf(told).stage === stage;
  const drinking = (told: Told): boolean => usualDrink(told.group, season)?.amount === 'full';

  const special: SpecialCases = {
    bothPairsSoft: take(replacing('splitting'), replacing('forming'), replacing('papery')),
    stillMoist: take(drinking),
    rotten: take((told) => told.batch.pots > 30),
    repotted: take(drinking, () => true),
    movedIntoLight: take(
      (told) => told.bench.exposure !== undefined,
      () => true,
    ),
    sunken: take(
      (told) => stepOf(told).phase.startsWith('dormant'),
      () => true,
    ),
    stretched: take((told) => told.batch.group.startsWith('lithops')),
    // Every third of the rest was overlooked, so that lines are mixed.
    thirsty: free.filter((told, index) => index % 3 === 0 && drinking(told)),
  };
  if (special.bothPairsSoft) special.bothPairsSoft.leftDryFrom = days - 40;
  if (special.sunken) special.sunken.leftDryFrom = days - 45;
  for (const told of special.thirsty) told.leftDryFrom = days - 26;
  return special;
}

export function writeSpecialCases({ input, days, batches, write, seasonOn }: Telling, special: SpecialCases): void {
  const { grower, hand } = input.demo.people;
  const season = seasonOn(days);
  const { bothPairsSoft, stillMoist, rotten, repotted, movedIntoLight, sunken, stretched, thirsty } = special;
  if (bothPairsSoft) {
    const { stage } = usualStep(bothPairsSoft.group, season);
    write(days - 1, '16:10', grower, {
      kind: 'signs',
      batchIds: [bothPairsSoft.id],
      phase: 'leaf-replacement',
      stage: stage ?? 'splitting',
      oldPair: 'soft',
      newPair: 'soft',
    });
  }
  if (stillMoist) {
    const batchIds = [stillMoist.id];
    write(days - 2, '08:10', hand, {
      kind: 'watering',
      batchIds,
      amount: 'full',
      mlPerPot: mlPerPot(stillMoist.pot, 'full'),
    });
    write(days - 1, '16:15', grower, { kind: 'signs', batchIds, firmness: 'slightly-soft', substrate: 'still-moist' });
  }
  if (rotten)
    write(
      days - 2,
      '10:40',
      grower,
      { kind: 'signs', batchIds: [rotten.id], firmness: 'soft', signs: ['rot'] },
      {
        note: 'Two pots glassy at the base, on the side by the wall.',
      },
    );
  if (repotted) write(days - 4, '14:30', grower, { kind: 'repotting', batchIds: [repotted.id], rootsCut: true });
  if (movedIntoLight) {
    const brighter = input.demo.benches.find(
      (bench) => bench.exposure === undefined && bench.id !== movedIntoLight.bench.id,
    );
    if (brighter)
      write(days - 5, '13:20', hand, { kind: 'batch-moved', batchId: movedIntoLight.id, benchId: brighter.id });
  }
  if (sunken)
    write(days - 1, '16:20', grower, {
      kind: 'signs',
      batchIds: [sunken.id],
      firmness: 'very-soft',
      signs: ['wrinkled-sides'],
      substrate: 'looked-dry',
    });
  if (stretched) write(days - 3, '10:50', grower, { kind: 'signs', batchIds: [stretched.id], signs: ['stretched'] });
  if (thirsty.length > 0)
    write(days - 1, '16:30', grower, {
      kind: 'signs',
      batchIds: thirsty.map(({ id }) => id),
      firmness: 'soft',
      substrate: 'looked-dry',
    });
  const twice = batches.find((told) => told !== stillMoist && told !== bothPairsSoft && told !== rotten);
  if (twice) {
    write(days - 9, '08:30', hand, { kind: 'watering', batchIds: [twice.id], amount: 'light' }, { tag: 'wrong-bench' });
    write(days - 9, '08:35', hand, { kind: 'take-back', tag: 'wrong-bench', reason: 'Entered for the wrong bench.' });
  }
  const [firstBench] = input.demo.benches;
  if (firstBench)
    write(days - 1, '17:00', grower, {
      kind: 'batch-created',
      batchId: `${firstBench.id}-new`,
      name: 'Lithops, new arrivals',
      group: 'lithops-summer-rain',
      benchId: firstBench.id,
      potCount: 10,
    });
}
