import type { WaterPhase } from '../domain/catalogue.js';
import { FACT_NAMES, signFact } from '../domain/facts.js';
import { FIRMNESS, type Firmness, type NewPairState, type OldPairState, SIGNS } from '../domain/plants.js';
import type { Fact, Facts } from '../domain/verdict.js';
import { waterPhaseOf } from '../models/growth-cycle.js';
import { seasonAngleAhead, seasonAngleDeg, withinSeasonWindow } from '../science/season.js';
import type { FactInputs, Known, PhaseInput } from './fact-inputs.js';
import { aheadFacts, estimated, factFrom, known, lightFacts, recentFacts, tonightFacts } from './weather-facts.js';
import { workOutPhase } from './work-out-phase.js';

export type {
  FactInputs,
  HouseInput,
  Known,
  LightHistoryInput,
  PhaseInput,
  PlantInput,
  PotInput,
} from './fact-inputs.js';

type FactRecord = Record<string, Fact>;

const DAYS_PER_DEGREE = 365.2422 / 360;
/** "Not lately": far outside every limit that counts days. */
const LONG_AGO_DAYS = 4000;
/** A look that found the plant firm says nothing of it after so many days in a dry pot (common practice). */
const FIRM_LOOK_GOOD_DAYS = 14;
/** A look that found it soft says nothing once it was watered and has had so many days to plump. */
const PLUMP_DAYS = 3;
const GROWN_MONTHS = 36;

/** All facts of one batch on one morning. What is not in the answer is unknown. */
export function gatherFacts(given: FactInputs): Facts {
  const input = withSeason(given);
  const phase = input.plant.phase ?? phaseOfInput(input);
  const waterPhase = phase && waterPhaseOf(phase.phase, phase.stage);
  const ahead = aheadFacts(input);
  const facts: FactRecord = {
    day: known(input.day, 'calendar'),
    ...placeFacts(input),
    ...(phase && phaseFacts(phase, waterPhase)),
    ...plantFacts(input, waterPhase),
    ...potFacts(input),
    ...recentFacts(input),
    ...tonightFacts(input),
    ...ahead,
    ...lightFacts(input, ahead, waterPhase),
  };
  // In the declared order, so that the same morning is kept in the same bytes.
  return Object.fromEntries(FACT_NAMES.flatMap((name) => (facts[name] ? [[name, facts[name]]] : [])));
}

/** Noon in Greenwich is at most half a degree of season from noon at the site. */
function withSeason(input: FactInputs): FactInputs {
  if (input.seasonAngleDeg !== undefined) return input;
  const angle = seasonAngleDeg(Date.parse(`${input.day}T12:00:00Z`), input.latitudeDeg);
  return angle === undefined ? input : { ...input, seasonAngleDeg: angle };
}

function phaseOfInput({ group, seasonAngleDeg: angle, plant, house }: FactInputs): PhaseInput | undefined {
  return workOutPhase(group, angle, {
    signs: plant.signs.map((sign) => sign.value),
    ...(plant.oldPair && { oldPair: plant.oldPair.value }),
    ...(plant.newPair && { newPair: plant.newPair.value }),
    ...(plant.sheathed && { sheathed: plant.sheathed.value }),
    ...(house.recent.nightMinC && { nightMinC: house.recent.nightMinC.value }),
    ...(house.recent.dayMaxC && { dayMaxC: house.recent.dayMaxC.value }),
    ...(house.recent.dli && { dli: house.recent.dli.value }),
  });
}

function placeFacts(input: FactInputs): FactRecord {
  const { group, place, seasonAngleDeg: angle } = input;
  const zone = input.originZone ?? group.originZones[0];
  const { houseId, lineId, benchExposure } = place ?? {};
  return {
    group: known(group.id, 'collection'),
    ...(zone && {
      originZone: input.originZone ? known(zone, 'collection') : estimated(zone, 'usual for the group'),
    }),
    growthType: known(group.growthType, 'catalogue'),
    leafChange: known(group.leafChange, 'catalogue'),
    ...(angle === undefined
      ? { daysFromWaterSeason: estimated(0, 'no seasons so near the equator') }
      : {
          seasonAngleDeg: known(angle, 'sun and latitude'),
          daysFromWaterSeason: known(daysFromWindows(angle, group.calendar.water), 'catalogue and season'),
        }),
    ...(houseId && { houseId: known(houseId, 'collection') }),
    ...(lineId && { lineId: known(lineId, 'collection') }),
    ...(benchExposure && { benchExposure: known(benchExposure, 'collection') }),
    ...(input.potCount !== undefined && { potCount: known(input.potCount, 'collection') }),
    ...(input.worth !== undefined && { worth: known(input.worth, 'collection') }),
  };
}

function daysFromWindows(angleDeg: number, windows: readonly (readonly [number, number])[]): number {
  if (windows.some((window) => withinSeasonWindow(angleDeg, window))) return 0;
  const degrees = windows.flatMap(([from, to]) => [seasonAngleAhead(angleDeg, from), seasonAngleAhead(to, angleDeg)]);
  return Math.round(Math.min(...degrees) * DAYS_PER_DEGREE);
}

function phaseFacts(phase: PhaseInput, waterPhase: WaterPhase | undefined): FactRecord {
  const of = (value: Fact['value']): Fact => ({
    value,
    certainty: phase.certainty,
    ...(phase.certainty === 'estimated' && { spread: phase.probability }),
    from: phase.from,
  });
  const second = phase.second && waterPhaseOf(phase.second.phase, phase.second.stage);
  return {
    phase: of(phase.phase),
    ...(phase.stage && { stage: of(phase.stage) }),
    ...(waterPhase && { waterPhase: of(waterPhase) }),
    phaseProbability: known(phase.probability, phase.from),
    ...(phase.second &&
      second && {
        secondPhase: { value: second, certainty: 'estimated', spread: phase.second.probability, from: phase.from },
        secondPhaseProbability: known(phase.second.probability, phase.from),
      }),
    ...(phase.daysInPhase !== undefined && { daysInPhase: known(phase.daysInPhase, phase.from) }),
    ...(phase.next && {
      nextPhase: estimated(phase.next.phase, 'growth-cycle model'),
      daysToNextPhase: {
        ...estimated(Math.max(0, phase.next.inDays), 'growth-cycle model'),
        ...(phase.next.spreadDays !== undefined && { spread: phase.next.spreadDays }),
      },
    }),
  };
}

// --- the plant ------------------------------------------------------------------------------------------------------

/** Softness of a leaf pair on the scale of firmness; a hidden new pair still lives on the old one. */
const PAIR_SOFTNESS: Readonly<Record<OldPairState | NewPairState, Firmness>> = {
  hidden: 'firm',
  firm: 'firm',
  'slightly-soft': 'slightly-soft',
  soft: 'soft',
  shrivelled: 'very-soft',
  papery: 'very-soft',
};

const softnessOfPair = (pair: Known<OldPairState | NewPairState> | undefined): Fact | undefined =>
  pair && { ...factFrom(pair), value: PAIR_SOFTNESS[pair.value] };

function plantFacts(input: FactInputs, waterPhase: WaterPhase | undefined): FactRecord {
  const { plant, group } = input;
  const stillTrue = <T extends string>(look: Known<T> | undefined): Known<T> | undefined =>
    look && stillCounts(look, input) ? look : undefined;
  const firmness = stillTrue(plant.firmness);
  const newPair = stillTrue(plant.newPair);
  const oldPair = plant.oldPair;
  const visibleNew = newPair?.value === 'hidden' ? undefined : newPair;
  const wrinkled = plant.signs.some((sign) => sign.value === 'wrinkled-sides')
    ? estimated('soft', 'level wrinkles were seen')
    : undefined;
  const seenFirmness = firmness && factFrom(firmness);
  const working = seenFirmness ?? softnessOfPair(visibleNew) ?? wrinkled;
  // Once the old pair is paper, the new pair is the working body, so either word tells of it.
  const emerged = softnessOfPair(newPair) ?? (waterPhase === 'papery' ? seenFirmness : undefined);
  const older = softnessOfPair(oldPair) ?? seenFirmness ?? wrinkled;
  const changing = waterPhase === 'forming' || waterPhase === 'splitting' || waterPhase === 'papery';
  const thirst = changing ? emerged : (working ?? older);
  return {
    ...(seenFirmness && { firmness: seenFirmness }),
    ...(oldPair && { oldPair: factFrom(oldPair) }),
    ...(newPair && { newPair: factFrom(newPair) }),
    ...(working && { workingSoftness: working }),
    ...(emerged && { newPairSoftness: emerged }),
    ...(older && { olderPairSoftness: older }),
    ...(thirst && { thirst }),
    sheathed: plant.sheathed
      ? factFrom(plant.sheathed)
      : estimated(group.leafChange === 'sheath' && waterPhase === 'dormant-warm', 'usual for the group in this phase'),
    ...signFacts(input),
    ageMonths: plant.ageMonths ? factFrom(plant.ageMonths) : estimated(GROWN_MONTHS, 'taken as grown'),
    repottedDaysAgo: plant.repottedDaysAgo
      ? factFrom(plant.repottedDaysAgo)
      : estimated(LONG_AGO_DAYS, 'no repotting on record'),
    ...(plant.reserve && { reserve: factFrom(plant.reserve) }),
  };
}

/** A plant seen firm dries on; a plant seen soft plumps after a drink. Such a look no longer tells. */
function stillCounts(look: Known<string>, { pot }: FactInputs): boolean {
  const daysAgo = look.daysAgo ?? 0;
  const softness = PAIR_SOFTNESS[look.value as NewPairState] ?? (look.value as Firmness);
  if (FIRMNESS.indexOf(softness) === 0) return daysAgo <= FIRM_LOOK_GOOD_DAYS || (pot.dryDays?.value ?? 1) <= 0;
  const lastDrink = pot.lastWatering;
  const wateredSince = lastDrink !== undefined && lastDrink.amount !== 'none' && lastDrink.daysAgo < daysAgo;
  return !(wateredSince && lastDrink.daysAgo >= PLUMP_DAYS);
}

function signFacts({ plant }: FactInputs): FactRecord {
  const seen = new Map(plant.signs.map((sign) => [sign.value, sign]));
  return Object.fromEntries(
    SIGNS.map((sign): [string, Fact] => {
      const one = seen.get(sign);
      return [signFact(sign), one ? { ...factFrom(one), value: true } : estimated(false, 'not reported')];
    }),
  );
}

// --- the pot ----------------------------------------------------------------------------------------------------------

/** Dry days and depletion tell of each other: a dry pot has given its water, a pot that still holds some is not dry. */
function potFacts({ pot, general }: FactInputs): FactRecord {
  const moist = pot.depletion !== undefined && pot.depletion.value < general.dryAtDepletion;
  const dryDays = pot.dryDays ? factFrom(pot.dryDays) : moist ? estimated(0, 'the pot still holds water') : undefined;
  const depletion = pot.depletion
    ? factFrom(pot.depletion)
    : pot.dryDays && pot.dryDays.value > 0
      ? estimated(1, 'a dry pot')
      : pot.dryDays
        ? estimated(general.dryAtDepletion / 2, 'a moist pot')
        : undefined;
  const last = pot.lastWatering;
  return {
    ...(dryDays && { dryDays }),
    ...(depletion && { depletion }),
    ...(pot.daysToDry && { daysToDry: factFrom(pot.daysToDry) }),
    ...(last && {
      lastWateringDaysAgo: known(last.daysAgo, last.from),
      lastWateringAmount: known(last.amount, last.from),
    }),
    potMlPerMm: known(pot.mlPerMm, 'catalogue'),
    potAvailableMm: known(pot.availableMm, 'catalogue'),
  };
}
