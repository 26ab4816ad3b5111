import { MS_PER_HOUR } from '../science/units.js';

/*
 * Which cloth a house wants: the lightest of those in store under which no batch gets more than it may. Where benches
 * disagree the house gets what harms nobody, and the benches that need more get a piece of their own.
 */

export interface ShadeCloth {
  readonly id: string;
  /** Share of light it holds back, %. */
  readonly shadePct: number;
}

/** What one batch needs and how much light it must have. */
export interface ShadeNeed {
  readonly batchId: string;
  readonly benchId: string;
  readonly pots: number;
  /** Cloth it must have at the least, %; 0: none. */
  readonly leastPct: number;
  /** Daily light below which it stretches, mol m⁻² d⁻¹; left out: at rest, it does not grow towards the light. */
  readonly lowDli?: number;
}

export interface BenchShade {
  readonly benchId: string;
  readonly clothId: string;
  readonly batchIds: readonly string[];
}
export interface ShadeAdvice {
  /** The cloth for the house; null: none. */
  readonly clothId: string | null;
  /** Batches on account of which it hangs. */
  readonly forBatchIds: readonly string[];
  /** Benches that need more than the house. */
  readonly benches: readonly BenchShade[];
  /** Batches that need more than any cloth in store holds back. */
  readonly unmetBatchIds: readonly string[];
  /** Batches that stretch for want of light under the cloth, though they would not without it. */
  readonly tooDarkBatchIds: readonly string[];
}

/** Cloths come in tens, and true shade differs from the nominal by as much: this near is near enough. */
const NEAR_PCT = 2;

/**
 * The lightest cloth that is enough for all, or else the one that makes fewest pots stretch, then leaves fewest benches
 * to be covered by themselves.
 * @param hungId the cloth that hangs: of two that shade alike it is the one that need not be changed
 * @param bareDli mean daily light of the coming days without cloth, mol m⁻² d⁻¹; undefined: not known, so that nobody is told to be too dark
 */
export function adviseShade(
  cloths: readonly ShadeCloth[],
  hungId: string | null,
  needs: readonly ShadeNeed[],
  bareDli: number | undefined,
): ShadeAdvice {
  const store = [...cloths].sort(
    (a, b) => a.shadePct - b.shadePct || Number(b.id === hungId) - Number(a.id === hungId),
  );
  const options: readonly (ShadeCloth | null)[] = [null, ...store];
  const densest = store.at(-1);
  // Who needs more than there is gets the most there is.
  const leastOf = ({ leastPct }: ShadeNeed): number => Math.min(leastPct, densest?.shadePct ?? leastPct);
  const scored = options.map((option) => {
    const shadePct = option?.shadePct ?? 0;
    const needy = needs.filter((need) => leastOf(need) > shadePct + NEAR_PCT);
    const dark = needs.filter((need) => isTooDark(need, bareDli, shadePct));
    return {
      option,
      needy,
      dark,
      darkPots: dark.reduce((sum, { pots }) => sum + pots, 0),
      benches: new Set(needy.map(({ benchId }) => benchId)).size,
    };
  });
  const best = scored.reduce((a, b) =>
    b.darkPots < a.darkPots || (b.darkPots === a.darkPots && b.benches < a.benches) ? b : a,
  );
  const shadePct = best.option?.shadePct ?? 0;
  const enough = (leastPct: number): ShadeCloth | undefined =>
    store.find((cloth) => cloth.shadePct + NEAR_PCT >= leastPct);
  const benches: BenchShade[] = [];
  for (const benchId of new Set(best.needy.map((need) => need.benchId))) {
    const here = best.needy.filter((need) => need.benchId === benchId);
    const cloth = enough(Math.max(...here.map(leastOf)));
    if (cloth && cloth.shadePct > shadePct)
      benches.push({ benchId, clothId: cloth.id, batchIds: here.map(({ batchId }) => batchId) });
  }
  return {
    clothId: best.option?.id ?? null,
    forBatchIds:
      best.option === null
        ? []
        : needs.filter((need) => need.leastPct > 0 && !isLighterEnough(store, shadePct, leastOf(need))).map(idOf),
    benches,
    unmetBatchIds: needs.filter(({ leastPct }) => leastPct > (densest?.shadePct ?? 0) + NEAR_PCT).map(idOf),
    tooDarkBatchIds: best.dark.map(idOf),
  };
}

const idOf = ({ batchId }: ShadeNeed): string => batchId;

/** Whether a lighter cloth than the one that hangs would do for it. */
const isLighterEnough = (store: readonly ShadeCloth[], shadePct: number, leastPct: number): boolean =>
  store.some((cloth) => cloth.shadePct < shadePct && cloth.shadePct + NEAR_PCT >= leastPct);

function isTooDark({ lowDli }: ShadeNeed, bareDli: number | undefined, shadePct: number): boolean {
  if (lowDli === undefined || bareDli === undefined || bareDli < lowDli) return false;
  return bareDli * (1 - shadePct / 100) < lowDli;
}

export interface BareLight {
  /** Start of the hour, UTC ms. */
  readonly at: number;
  readonly ppfdUmol: number;
}
export interface HangingTime {
  /** Start of the first hour that is too bright without it. */
  readonly fromMs: number;
  /** End of the last such hour. */
  readonly untilMs: number;
}

/**
 * When a cloth must hang: from the first coming hour that is brighter than the batch that needs it most may have, to the
 * last one.
 * @param allowedPpfdUmol what that batch may get, µmol m⁻² s⁻¹
 * @returns undefined where no coming hour is that bright
 */
export function hangingTime(hours: readonly BareLight[], allowedPpfdUmol: number): HangingTime | undefined {
  const bright = hours.filter(({ ppfdUmol }) => ppfdUmol > allowedPpfdUmol);
  const first = bright[0];
  const last = bright.at(-1);
  return first && last && { fromMs: first.at, untilMs: last.at + MS_PER_HOUR };
}

/** Mean of the coming days, mol m⁻² d⁻¹; undefined when none is known. */
export function meanDli(dli: readonly number[]): number | undefined {
  const known = dli.filter((value) => !Number.isNaN(value));
  return known.length === 0 ? undefined : known.reduce((sum, value) => sum + value, 0) / known.length;
}
