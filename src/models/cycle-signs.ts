/**
 * What signs say about the phase: how often a sign is seen in a plant of each phase. All figures are starting values of
 * ours, no published source: they rest on what the phases are, and only their ratios matter.
 */
import type { SpeciesGroup } from '../domain/catalogue.js';
import type { NewPairState, OldPairState, Phase, Sign, Stage } from '../domain/plants.js';
import { type CycleLabel, type Ring, ringOf } from './cycle-ring.js';

/** What one look may report; whatever was not looked at is left out. */
export interface SeenSigns {
  /** What a person says the phase is. */
  readonly phase?: Phase;
  readonly stage?: Stage;
  readonly oldPair?: OldPairState;
  readonly newPair?: NewPairState;
  readonly sheathed?: boolean;
  readonly signs?: readonly Sign[];
}

/** The parts of a look that tell about the phase. A second look at the same part soon after tells little more. */
export const SIGN_PARTS = ['phase', 'old-pair', 'new-pair', 'sheath', 'closed-tips'] as const;
export type SignPart = (typeof SIGN_PARTS)[number];

/** How often a person who grows the plants names the right phase; else mostly the one just before or after it. */
const ENTRY_CORRECT = 0.98;
const ENTRY_NEIGHBOUR = 0.018;
const ENTRY_WILD = 1 - ENTRY_CORRECT - ENTRY_NEIGHBOUR;

type Shares<T extends string> = Readonly<Record<T, number>>;

const OLD_PAIR: Readonly<Record<'forming' | 'splitting' | 'papery' | 'other', Shares<OldPairState>>> = {
  forming: { firm: 0.35, 'slightly-soft': 0.4, soft: 0.2, shrivelled: 0.04, papery: 0.01 },
  splitting: { firm: 0.05, 'slightly-soft': 0.15, soft: 0.35, shrivelled: 0.35, papery: 0.1 },
  papery: { firm: 0.01, 'slightly-soft': 0.02, soft: 0.07, shrivelled: 0.3, papery: 0.6 },
  other: { firm: 0.5, 'slightly-soft': 0.2, soft: 0.1, shrivelled: 0.05, papery: 0.15 },
};

const NEW_PAIR: Readonly<Record<'forming' | 'splitting' | 'papery' | 'other', Shares<NewPairState>>> = {
  forming: { hidden: 0.78, firm: 0.17, 'slightly-soft': 0.03, soft: 0.01, shrivelled: 0.005, papery: 0.005 },
  splitting: { hidden: 0.03, firm: 0.72, 'slightly-soft': 0.17, soft: 0.06, shrivelled: 0.01, papery: 0.01 },
  papery: { hidden: 0.01, firm: 0.38, 'slightly-soft': 0.42, soft: 0.17, shrivelled: 0.01, papery: 0.01 },
  other: { hidden: 0.65, firm: 0.2, 'slightly-soft': 0.09, soft: 0.04, shrivelled: 0.01, papery: 0.01 },
};

const SHEATHED: Readonly<Record<CycleLabel, number>> = {
  growing: 0.03,
  flowering: 0.06,
  'seed-set': 0.03,
  forming: 0.1,
  splitting: 0.5,
  papery: 0.85,
  'dormant-warm': 0.9,
  'dormant-cold': 0.05,
  waking: 0.6,
};

const CLOSED_TIPS: Readonly<Record<CycleLabel, number>> = {
  growing: 0.04,
  flowering: 0.03,
  'seed-set': 0.05,
  forming: 0.1,
  splitting: 0.1,
  papery: 0.1,
  'dormant-warm': 0.5,
  'dormant-cold': 0.35,
  waking: 0.15,
};

const stageRow = (label: CycleLabel): 'forming' | 'splitting' | 'papery' | 'other' =>
  label === 'forming' || label === 'splitting' || label === 'papery' ? label : 'other';

/** Whether a label is what a person means by a phase; a replacement without a stage means any of its stages. */
export const labelMatches = (label: CycleLabel, phase: Phase, stage?: Stage): boolean =>
  phase === 'leaf-replacement' ? stageRow(label) !== 'other' && (!stage || stage === label) : label === phase;

/** Probability that a person names a phase in a plant that stands under a label. */
function entryLikelihood(ring: Pick<Ring, 'labels' | 'neighbours'>, seen: SeenSigns, label: CycleLabel): number {
  const { phase, stage } = seen;
  if (!phase) return 1;
  if (labelMatches(label, phase, stage)) return ENTRY_CORRECT;
  const beside = [...(ring.neighbours.get(label) ?? [])];
  const matching = beside.filter((other) => labelMatches(other, phase, stage)).length;
  return (ENTRY_NEIGHBOUR * matching) / Math.max(1, beside.length) + ENTRY_WILD / ring.labels.length;
}

/** Probability of each part of a look in a plant that stands under a label; parts that say nothing are left out. */
export function signLikelihoods(
  group: SpeciesGroup,
  seen: SeenSigns,
  label: CycleLabel,
): Partial<Record<SignPart, number>> {
  const likelihoods: Partial<Record<SignPart, number>> = {};
  if (seen.phase) likelihoods.phase = entryLikelihood(ringOf(group), seen, label);
  const hasPairs = group.leafChange === 'pair' || group.leafChange === 'sheath';
  if (hasPairs && seen.oldPair) likelihoods['old-pair'] = OLD_PAIR[stageRow(label)][seen.oldPair];
  if (hasPairs && seen.newPair) likelihoods['new-pair'] = NEW_PAIR[stageRow(label)][seen.newPair];
  if (group.leafChange === 'sheath' && seen.sheathed !== undefined)
    likelihoods.sheath = seen.sheathed ? SHEATHED[label] : 1 - SHEATHED[label];
  if (seen.signs?.includes('closed-tips')) likelihoods['closed-tips'] = CLOSED_TIPS[label];
  return likelihoods;
}
