import { even, normal } from '../../src/app/demo/random.js';
import type { JournalEventInput } from '../../src/domain/journal.js';
import { FIRMNESS, type Firmness, type OldPairState, type Phase, type Stage } from '../../src/domain/plants.js';
import type { PlantKind, TruePhase } from './plant-kinds.js';
import type { PlantLook } from './plant-truth.js';

/*
 * Somebody who looks at one plant of a batch and enters what is seen, with the errors people make (common practice, no
 * published source): the water in a body is judged to about 4 %, one look in twenty is a word off, the phase is named wrong
 * one time in ten and then as the one before or after it.
 */
const FEEL_SPREAD = 0.04;
const SLIPS = 0.05;
const WRONG_PHASE = 0.1;
/** Body water at which people change the word. */
const WORDS_BELOW = [0.9, 0.775, 0.625] as const;

type Signs = Extract<JournalEventInput, { kind: 'signs' }>;

export interface Staff {
  /** Entry about a plant; the phase is named only where it was asked for. */
  look(batchId: string, kind: PlantKind, seen: PlantLook, askedForPhase: boolean): Signs;
}

export function staff(seed: number): Staff {
  const odds = even(seed, 'staff/odds');
  const feel = normal(seed, 'staff/feel');
  let looks = 0;
  return {
    look(batchId, kind, seen, askedForPhase) {
      looks += 1;
      const chance = (of: number) => odds(looks * 16 + of);
      const touch = (share: number, of: number): Firmness => {
        const felt = share + FEEL_SPREAD * feel(looks * 16 + of);
        const word = WORDS_BELOW.filter((border) => felt < border).length;
        const slip = chance(of) < SLIPS ? (chance(of + 1) < 0.5 ? -1 : 1) : 0;
        return FIRMNESS[Math.min(3, Math.max(0, word + slip))] as Firmness;
      };
      const changing = seen.oldPair !== undefined;
      const phase = chance(0) < WRONG_PHASE ? beside(kind, seen.phase, chance(1)) : seen.phase;
      const felt = touch(changing && !seen.newPairShows ? (seen.oldPair as number) : seen.body, 2);
      const pairs = kind.change === 'pair' || kind.change === 'sheath';
      return {
        kind: 'signs',
        batchIds: [batchId],
        firmness: felt,
        substrate: seen.potMoist + 0.08 * feel(looks * 16 + 8) < 0.25 ? 'looked-dry' : 'still-moist',
        ...(pairs && pairWords(seen, touch)),
        ...(kind.change === 'sheath' && { sheathed: seen.phase === 'rest' }),
        ...(askedForPhase && named(phase, kind)),
        signs: !changing && seen.body < 0.8 && chance(10) < 0.6 ? ['wrinkled-sides'] : [],
        gone: seen.body >= 0.8 ? ['wrinkled-sides'] : [],
      };
    },
  };
}

function pairWords(seen: PlantLook, touch: (share: number, of: number) => Firmness): Partial<Signs> {
  const young = pairWord(touch(seen.body, 4));
  if (seen.phase === 'paper') return { oldPair: 'papery', newPair: young };
  if (seen.oldPair === undefined) return {};
  const oldPair = seen.oldPair < 0.2 ? 'papery' : pairWord(touch(Math.max(0.5, seen.oldPair), 6));
  return { oldPair, newPair: seen.newPairShows ? young : 'hidden' };
}

const pairWord = (felt: Firmness): OldPairState => (felt === 'very-soft' ? 'shrivelled' : felt);

function beside(kind: PlantKind, phase: TruePhase, chance: number): TruePhase {
  const index = kind.year.findIndex(([step]) => step === phase);
  const other = kind.year[(index + (chance < 0.5 ? 1 : kind.year.length - 1)) % kind.year.length];
  return other?.[0] ?? phase;
}

/** The true phases in the words of the journal. */
function named(phase: TruePhase, kind: PlantKind): { phase: Phase; stage?: Stage } {
  if (phase === 'grow') return { phase: 'growing' };
  if (phase === 'flower') return { phase: 'flowering' };
  if (phase === 'wake') return { phase: 'waking' };
  if (phase === 'rest') return { phase: kind.group === 'echeveria' ? 'dormant-cold' : 'dormant-warm' };
  return {
    phase: 'leaf-replacement',
    stage: phase === 'form' ? 'forming' : phase === 'split' ? 'splitting' : 'papery',
  };
}
