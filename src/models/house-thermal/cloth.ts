/** What a shade cloth takes from light and from heat. */
import type { ClothInStore } from '../../domain/site.js';

export type ClothKind = Pick<ClothInStore, 'shadePct' | 'place' | 'colour'>;

/**
 * Share of the light held back that warms the house all the same. A black cloth inside takes it up and gives it to the air;
 * one outside gives it to the wind. Direction: Abdel-Ghany et al. 2015, Energies 8:13928; the figures are starting values of ours.
 */
const KEPT_INSIDE: Readonly<Record<ClothInStore['colour'], number>> = {
  black: 1,
  green: 0.8,
  white: 0.4,
  aluminised: 0.3,
};
const KEPT_OUTSIDE = 0.1;

export const clothLight = (cloth: ClothKind | null): number => (cloth === null ? 1 : 1 - cloth.shadePct / 100);

/** Share of the sun's warming that is left under it. */
export function clothWarmth(cloth: ClothKind | null): number {
  if (cloth === null) return 1;
  const kept = cloth.place === 'outside' ? KEPT_OUTSIDE : KEPT_INSIDE[cloth.colour];
  return 1 - (cloth.shadePct / 100) * (1 - kept);
}
