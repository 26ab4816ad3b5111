import type { SpeciesGroup, WaterPhase } from '../domain/catalogue.js';
import type { NewPairState, OldPairState, Phase, Sign, Stage } from '../domain/plants.js';
import { STAGES } from '../domain/plants.js';
import {
  currentPhase,
  labelProbabilities,
  nextChange,
  observeSigns,
  startCycle,
  stepCycle,
  waterPhaseOf,
} from '../models/growth-cycle.js';
import type { PhaseInput } from './fact-inputs.js';

/** Weather of so many degrees of season counts when a belief is begun from the calendar alone. */
const RUN_UP_DEG = 30;
/** How sure a phase is that was entered for this morning. */
const ENTERED_SURE = 0.95;
/** A second phase below this is not worth a thought. */
const WORTH_A_THOUGHT = 0.02;

export interface PhaseEvidence {
  readonly phase?: Phase;
  readonly stage?: Stage;
  readonly oldPair?: OldPairState;
  readonly newPair?: NewPairState;
  readonly sheathed?: boolean;
  readonly signs: readonly Sign[];
  readonly nightMinC?: number;
  readonly dayMaxC?: number;
  readonly dli?: number;
}

const isStage = (phase: WaterPhase): phase is Stage => (STAGES as readonly string[]).includes(phase);

export const phaseOfWaterPhase = (phase: WaterPhase): { phase: Phase; stage?: Stage } =>
  isStage(phase) ? { phase: 'leaf-replacement', stage: phase } : { phase: phase as Phase };

/**
 * The phase of a batch of which no belief is kept: what was entered, else the calendar of its group moved by the week's
 * weather and by what was seen. Undefined where neither tells: nothing entered, and no seasons so near the equator.
 */
export function workOutPhase(
  group: SpeciesGroup,
  seasonAngleDeg: number | undefined,
  evidence: PhaseEvidence,
): PhaseInput | undefined {
  const { phase, stage } = evidence;
  if (seasonAngleDeg === undefined) {
    if (phase === undefined) return undefined;
    return { phase, ...(stage && { stage }), probability: ENTERED_SURE, certainty: 'known', from: 'entered' };
  }
  const drivers = {
    ...(evidence.nightMinC !== undefined && { nightMinC: evidence.nightMinC }),
    ...(evidence.dayMaxC !== undefined && { dayMaxC: evidence.dayMaxC }),
    ...(evidence.dli !== undefined && { dli: evidence.dli }),
  };
  const begun = startCycle(group, seasonAngleDeg - RUN_UP_DEG);
  const calendar = stepCycle(group, begun, seasonAngleDeg, drivers);
  const belief = observeSigns(group, calendar, evidence);
  const change = nextChange(group, belief, drivers);
  const nextPhase = change && waterPhaseOf(change.phase, change.stage);
  const next = change &&
    nextPhase && {
      next: { phase: nextPhase, inDays: change.days, spreadDays: (change.lateDays - change.earlyDays) / 2.56 },
    };
  const ranked = Object.entries(labelProbabilities(group, belief))
    .filter(([label]) => phase === undefined || phaseOfWaterPhase(label as WaterPhase).phase === phase)
    .sort((a, b) => (b[1] as number) - (a[1] as number));
  if (phase !== undefined) {
    if (phase !== 'leaf-replacement' || stage !== undefined)
      return {
        phase,
        ...(stage && { stage }),
        probability: ENTERED_SURE,
        certainty: 'known',
        from: 'entered',
        ...next,
      };
    // Replacement without its stage: the stage is weighed among the stages alone.
    const total = ranked.reduce((sum, [, share]) => sum + (share as number), 0);
    const [best, other] = ranked.map(([label, share]) => ({
      ...phaseOfWaterPhase(label as WaterPhase),
      probability: (share as number) / total,
    }));
    return {
      phase,
      ...(best?.stage && { stage: best.stage }),
      probability: best?.probability ?? 0,
      certainty: 'estimated',
      from: 'entered; the stage is worked out from the season and what was seen',
      ...(other && other.probability >= WORTH_A_THOUGHT && { second: other }),
      ...next,
    };
  }
  const view = currentPhase(group, belief);
  const main = waterPhaseOf(view.phase, view.stage);
  const other = ranked.find(([label]) => label !== main);
  return {
    phase: view.phase,
    ...(view.stage && { stage: view.stage }),
    probability: view.probability,
    certainty: 'estimated',
    from: belief.looks > 0 ? 'worked out from the season and what was seen' : 'worked out from the season',
    ...(other &&
      (other[1] as number) >= WORTH_A_THOUGHT && {
        second: { ...phaseOfWaterPhase(other[0] as WaterPhase), probability: other[1] as number },
      }),
    ...next,
  };
}
