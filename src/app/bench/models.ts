import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { catalogueEntry, type SpeciesGroup, type WaterPhase } from '../../domain/catalogue.js';
import { currentPhase, observeSigns, startCycle, stepCycle } from '../../models/growth-cycle.js';
import { stepReserve, unknownReserve } from '../../models/plant-reserve.js';
import {
  depletionShare,
  drinkMm,
  isPotDry,
  type PotSetup,
  potCapacities,
  stepPotWater,
  unknownPotWater,
} from '../../models/pot-water.js';
import { loadCatalogue } from '../config/catalogue.js';
import { PACKAGE_CONFIG } from '../config/paths.js';
import type { BenchResult } from './storage.js';

const HOURS = 24;
const DAYS = 365;

/** Evaporation of every hour of a year: a sun from six to six over a year's swing. */
const HOURLY_ET_MM = Float64Array.from({ length: DAYS * HOURS }, (_, at) => {
  const sun = Math.max(0, Math.sin((((at % HOURS) - 6) / 12) * Math.PI));
  return sun * (0.15 + 0.12 * Math.sin((at / HOURS / DAYS) * 2 * Math.PI));
});

/**
 * A year of hourly states for many batches: pot water hour by hour, phase belief and reserve day by day, a look a month and
 * a drink when the pot is dry. The yardstick is the least a year of hours can cost: one exponential and one sum each.
 */
export function benchModels(options: { readonly batches?: number } = {}): BenchResult {
  const batches = options.batches ?? 1000;
  const catalogue = loadCatalogue(join(PACKAGE_CONFIG, 'catalogue'));
  const setup = (group: SpeciesGroup): PotSetup => ({
    mix: catalogueEntry('mix', catalogue.mixes, 'mineral-80-20'),
    pot: catalogueEntry('pot', catalogue.pots, 'square-7cm-plastic'),
    topDressing: 'grit',
    coverFraction: group.coverFraction,
    clayFactor: catalogue.clayFactor,
    gritTopFactor: catalogue.gritTopFactor,
    mineralDepthFactors: catalogue.mineralDepthFactors,
    lightDrinkMm: catalogue.general.lightDrinkMm,
    dryAtDepletion: catalogue.general.dryAtDepletion,
  });
  const groups = catalogue.speciesGroups;

  const bareStarted = performance.now();
  let sum = 0;
  for (let batch = 0; batch < batches; batch += 1)
    for (const referenceEtMm of HOURLY_ET_MM) sum += Math.exp(-referenceEtMm - batch * 1e-9);
  const bareSeconds = (performance.now() - bareStarted) / 1000;

  const started = performance.now();
  const cpuBefore = process.cpuUsage();
  let drinks = 0;
  for (let batch = 0; batch < batches; batch += 1) {
    const group = groups[batch % groups.length] as SpeciesGroup;
    drinks += yearOf(group, setup(group));
  }
  const seconds = (performance.now() - started) / 1000;
  const cpu = process.cpuUsage(cpuBefore);
  return {
    name: `a year of hourly states for ${batches} batches`,
    ratio: bareSeconds / seconds,
    yardstick: 'one exponential and one sum an hour',
    detail:
      `${seconds.toFixed(2)} s (${((cpu.user + cpu.system) / 1e6).toFixed(2)} s of processor; at most 5 s wanted), ` +
      `${bareSeconds.toFixed(2)} s for the yardstick; ${drinks} drinks, check ${sum.toFixed(0)}`,
  };
}

function yearOf(group: SpeciesGroup, setup: PotSetup): number {
  const pot = potCapacities(setup);
  let water = unknownPotWater(pot);
  let reserve = unknownReserve;
  let cycle = startCycle(group, 0);
  let drinks = 0;
  for (let day = 0; day < DAYS; day += 1) {
    let dailyEtMm = 0;
    const waterMm = isPotDry(pot, water) && water.dryDays > 7 ? drinkMm(pot, water, 'full') : 0;
    if (waterMm > 0) drinks += 1;
    for (let hour = 0; hour < HOURS; hour += 1) {
      const referenceEtMm = HOURLY_ET_MM[day * HOURS + hour] as number;
      dailyEtMm += referenceEtMm;
      water = stepPotWater(pot, water, {
        hours: 1,
        referenceEtMm,
        basalCoefficient: group.basalCoefficient.coolGrowth,
        waterMm: hour === 8 ? waterMm : 0,
      });
    }
    cycle = stepCycle(group, cycle, (day + 1) * (360 / DAYS), { nightMinC: 12, dli: 15 });
    if (day % 30 === 15) cycle = observeSigns(group, cycle, { newPair: 'hidden', oldPair: 'firm' });
    const view = currentPhase(group, cycle);
    reserve = stepReserve(group, reserve, {
      days: 1,
      phase: view.stage ?? (view.phase as WaterPhase),
      potDepletion: depletionShare(pot, water),
      dryDays: water.dryDays,
      referenceEtMm: dailyEtMm,
    });
  }
  return drinks;
}
