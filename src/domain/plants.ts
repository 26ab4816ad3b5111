import { z } from 'zod';

/** Phases in their cyclic order. */
export const PHASES = [
  'growing',
  'flowering',
  'seed-set',
  'leaf-replacement',
  'dormant-warm',
  'dormant-cold',
  'waking',
] as const;
export const phaseSchema = z.enum(PHASES);
export type Phase = z.infer<typeof phaseSchema>;

/** Stages of leaf-pair replacement, in order. */
export const STAGES = ['forming', 'splitting', 'papery'] as const;
export const stageSchema = z.enum(STAGES);
export type Stage = z.infer<typeof stageSchema>;

/** Keys of a group's water policy: the phases, with the three stages of leaf replacement apart. */
export const WATER_PHASES = [
  'growing',
  'flowering',
  'seed-set',
  'forming',
  'splitting',
  'papery',
  'dormant-warm',
  'dormant-cold',
  'waking',
] as const;
export type WaterPhase = (typeof WATER_PHASES)[number];

/** Firmness of the working body, from plump to sunken. */
export const FIRMNESS = ['firm', 'slightly-soft', 'soft', 'very-soft'] as const;
export const firmnessSchema = z.enum(FIRMNESS);
export type Firmness = z.infer<typeof firmnessSchema>;

export const PAIR_STATES = ['firm', 'slightly-soft', 'soft', 'shrivelled', 'papery'] as const;
export const oldPairSchema = z.enum(PAIR_STATES);
export type OldPairState = z.infer<typeof oldPairSchema>;
export const newPairSchema = z.enum([...PAIR_STATES, 'hidden']);
export type NewPairState = z.infer<typeof newPairSchema>;

/** Things seen on a plant beside firmness and the pairs. */
export const SIGNS = [
  'rot',
  'rocking',
  'stacked-pairs',
  'stretched',
  'scorched',
  'tight-old-skin',
  'burst',
  'wrinkled-sides',
  'closed-tips',
  'elongating-leaves',
] as const;
export const signSchema = z.enum(SIGNS);
export type Sign = z.infer<typeof signSchema>;

/** What a finger or a lifted pot told about the substrate. */
export const substrateNoteSchema = z.enum(['looked-dry', 'still-moist']);
export type SubstrateNote = z.infer<typeof substrateNoteSchema>;

export const ORIGIN_ZONES = ['summer', 'winter', 'all-year', 'fog-coast'] as const;
export const originZoneSchema = z.enum(ORIGIN_ZONES);
export type OriginZone = z.infer<typeof originZoneSchema>;

/** Amount of a drink: none, light (only the top is wetted), full (the pot is refilled). */
export const AMOUNTS = ['none', 'light', 'full'] as const;
export const amountSchema = z.enum(AMOUNTS);
export type Amount = z.infer<typeof amountSchema>;
export const amountRank = (amount: Amount): number => AMOUNTS.indexOf(amount);

/** Why a batch is no longer there. */
export const END_REASONS = ['died', 'sold', 'given', 'merged', 'mistake', 'other'] as const;
export const LOSS_CAUSES = [
  'rot',
  'doubled',
  'burst',
  'stretched',
  'scorched',
  'cooked',
  'frost',
  'dried-out',
  'pest',
  'unknown',
] as const;
