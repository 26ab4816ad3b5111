import type { HouseDay } from './glasshouse.js';
import type { PlantKind, TruePhase } from './plant-kinds.js';

/*
 * One simulated plant in its pot, day by day: where it stands in its year, the water in its bodies and in the pot, and
 * what goes wrong. It knows nothing of the models and rules of the service. All figures are common practice or judgement,
 * no published source, unless one is named; they were set before any comparison was run and are the same for all.
 */
export type Harm = 'doubled' | 'burst' | 'stretched' | 'scorched' | 'starved' | 'rotted';
export const HARMS: readonly Harm[] = ['doubled', 'burst', 'stretched', 'scorched', 'starved', 'rotted'];

/** Even chance from 0 to 1; the same numbers in every custom, so that only the watering differs. */
export type Chance = () => number;

/** Water between drained and air-dry in a 7 cm pot of gritty mix, mm over its surface (weighing; common practice). */
const POT_HOLDS_MM = 10;
/** Grit on top leaves this share of the evaporation (gravel mulch cuts it strongly: Kemper, Nicks & Corey 1994, remembered). */
const GRIT_LEAVES = 0.6;
/** A light drink, mm. */
export const LIGHT_DRINK_MM = 1.5;
/** A body full of water, mm over its leaf area, and the share of the pot its leaves cover. */
const STORE_MM = { pair: 10, sheath: 8, 'leaf-by-leaf': 5, rosette: 4 } as const;
const COVERS = { pair: 0.3, sheath: 0.3, 'leaf-by-leaf': 0.35, rosette: 0.6 } as const;
/** Loss through the skin, and beside it while roots are active, mm of leaf a day at an evaporation of 2 mm. */
const SKIN_MM = 0.015;
const OPEN_MM = 0.045;
/** Days in a dry pot in which the stomata close to a third (Agave kept opening up to 8 days: Nobel 1976). */
const CLOSING_DAYS = 8;
/** Share of what is missing that active roots in a wet pot take up in a day: growers see a plant plump in 1-3 days. */
const FILLS_PER_DAY = 0.35;
/** Roots at work, by phase. In the change of the pair they are weaker but not gone, or nothing could ever double. */
const ROOTS: Readonly<Record<TruePhase, number>> = {
  grow: 1,
  flower: 0.9,
  form: 0.5,
  split: 0.35,
  paper: 0.7,
  rest: 0.08,
  wake: 0.6,
};
/** Most an old pair gives to the new one in a day (1-2 % in practice), and the least it keeps. */
const GIVES_PER_DAY = 0.015;
const OLD_LEAST = 0.12;
/** Body water below this harms; so many days of it kill. */
const STARVING = 0.45;
const STARVING_DAYS = 10;
/** Days of turgid growth in no light at all, or more in some, until it is spoilt; without water in the pot nothing grows. */
const STRETCH_DAYS = 14;
/** Light over the mean of the last week that a bright day may have without harm (Clusia: 200 to 650-740 in a step harmed). */
const LIGHT_STEP = 1.6;
const FRESH_LIGHT_STEP = 1.25;
const FRESH_DAYS = 14;
/** Leaf heat that kills (CAM leaves 50-57 °C: Krause et al. 2016); a thick leaf in the sun is this much above the air. */
const KILLING_LEAF_C = 51;
const LEAF_C_PER_PPFD = 0.0085;

export interface PlantScatter {
  /** Days early or late in all its year. */
  readonly lateDeg: number;
  /** Its pot against the usual one. */
  readonly potHolds: number;
  readonly potDries: number;
  /** Warmth it bears above its kind. */
  readonly heatC: number;
  /** Seedlings have a thin store and no pair change yet. */
  readonly young: boolean;
}

/** What a person could see. */
export interface PlantLook {
  readonly phase: TruePhase;
  /** Water of the body that lives now, share of full: 1 plump, 0.85 first wrinkles, 0.55 badly sunk. */
  readonly body: number;
  readonly oldPair: number | undefined;
  readonly newPairShows: boolean;
  readonly potMoist: number;
}

export class Plant {
  phase: TruePhase;
  private body = 0.95;
  private oldPair: number | undefined;
  private potMm: number;
  private dryDays = 0;
  private usedToDli: number | undefined;
  private starvingDays = 0;
  private stretch = 0;
  private wetDays = 0;
  private baredDays = Number.POSITIVE_INFINITY;
  private stepIndex: number;
  private readonly means = { dayMaxC: Number.NaN, nightMinC: Number.NaN, meanC: Number.NaN };
  private readonly holdsMm: number;

  constructor(
    readonly kind: PlantKind,
    private readonly scatter: PlantScatter,
    seasonAngleDeg: number,
    potMoist: number,
  ) {
    this.holdsMm = POT_HOLDS_MM * scatter.potHolds;
    this.potMm = potMoist * this.holdsMm;
    this.stepIndex = this.lastStepBefore(seasonAngleDeg);
    this.phase = this.stepAt(this.stepIndex)[0];
    if (this.inChange()) this.oldPair = this.dueOldPair(seasonAngleDeg);
  }

  look(): PlantLook {
    return {
      phase: this.phase,
      body: this.body,
      oldPair: this.oldPair,
      newPairShows: this.phase === 'split' || this.phase === 'paper',
      potMoist: this.potMm / this.holdsMm,
    };
  }

  /**
   * One day. Water given in the morning, mm over the pot.
   * @returns what spoilt or killed it today
   */
  day(today: HouseDay, dli: number, noonPpfd: number, waterMm: number, chance: Chance): Harm | undefined {
    this.remember(today, dli);
    this.turnTheYear(today);
    const harm =
      this.drink(waterMm, chance()) ??
      this.change(today) ??
      this.light(dli, noonPpfd, today, chance()) ??
      this.rot(today, chance());
    this.usedToDli = (this.usedToDli as number) + (dli - (this.usedToDli as number)) / 7;
    this.baredDays += 1;
    return harm ?? (this.starves() ? 'starved' : undefined);
  }

  // --- its year -----------------------------------------------------------------------------------------------------

  private stepAt(index: number): readonly [TruePhase, number] {
    const { year } = this.kind;
    return year[((index % year.length) + year.length) % year.length] as readonly [TruePhase, number];
  }

  private inChange(): boolean {
    return !this.scatter.young && (this.phase === 'form' || this.phase === 'split');
  }

  private lastStepBefore(angle: number): number {
    const since = ([, begins]: readonly [TruePhase, number]) => (angle - begins - this.scatter.lateDeg + 720) % 360;
    let best = 0;
    this.kind.year.forEach((step, index) => {
      if (since(step) < since(this.stepAt(best))) best = index;
    });
    return best;
  }

  /** Degrees until the next step would begin by its own clock; below 0 once it is due. */
  private degreesToNext(angle: number): number {
    const [, begins] = this.stepAt(this.stepIndex + 1);
    const ahead = (begins + this.scatter.lateDeg - angle + 720) % 360;
    return ahead > 300 ? ahead - 360 : ahead;
  }

  private turnTheYear(today: HouseDay): void {
    const [next] = this.stepAt(this.stepIndex + 1);
    const ahead = this.degreesToNext(today.seasonAngleDeg);
    const { nightMinC } = this.means;
    // Cool nights wake and warm nights send to rest, within three weeks of the plant's own date.
    const weather =
      next === 'wake'
        ? clamp((18 - nightMinC) * 3, -18, 18)
        : next === 'rest'
          ? clamp((nightMinC - 13) * 3, -18, 18)
          : next === 'split' || next === 'paper'
            ? clamp(((this.usedToDli as number) - 12) * 0.6 + (this.means.meanC - 14) * 0.4, -8, 8)
            : 0;
    if (ahead - weather > 0) return;
    this.stepIndex += 1;
    this.phase = next;
    if (this.inChange()) this.oldPair ??= this.body;
    if (next === 'paper') this.baredDays = 0;
  }

  private dueOldPair(angle: number): number {
    const begins = (phase: TruePhase) => this.kind.year.find(([step]) => step === phase)?.[1] ?? 0;
    const end = this.kind.change === 'pair' ? begins('paper') : begins('rest');
    const whole = (end - begins('form') + 360) % 360;
    const gone = (angle - this.scatter.lateDeg - begins('form') + 720) % 360;
    return clamp(1 - gone / whole, OLD_LEAST, 0.95);
  }

  // --- water ----------------------------------------------------------------------------------------------------------

  private remember(today: HouseDay, dli: number): void {
    this.usedToDli ??= dli;
    for (const name of ['dayMaxC', 'nightMinC', 'meanC'] as const) {
      const before = this.means[name];
      this.means[name] = Number.isNaN(before) ? today[name] : before + (today[name] - before) / 5;
    }
  }

  /** Share of the roots that are at work: by phase, stopped by heat and by cold. */
  private roots(): number {
    const [dayStop, nightStop] = this.kind.heatStopC;
    const { heatC, young } = this.scatter;
    const over = Math.max(this.means.dayMaxC - dayStop - heatC, this.means.nightMinC - nightStop - heatC);
    const heat = clamp(0.5 - over / 4, 0.05, 1);
    const cold = clamp((this.means.meanC - 4) / 8, 0, 1);
    // Seedlings grow on through the rest and the change of their first year.
    return Math.max(young ? 0.6 : 0, ROOTS[this.phase]) * heat * cold;
  }

  private drink(waterMm: number, luck: number): Harm | undefined {
    if (waterMm <= 0) return undefined;
    this.potMm = Math.min(this.holdsMm, this.potMm + waterMm);
    const { above, chance } = this.kind.burst;
    const full = this.potMm > 0.7 * this.holdsMm;
    return full && !this.scatter.young && this.body > above && this.roots() > 0.3 && luck < chance
      ? 'burst'
      : undefined;
  }

  /** A day of the pot and of the bodies. */
  private change(today: HouseDay): Harm | undefined {
    const wet = clamp((this.potMm / this.holdsMm - 0.03) / 0.2, 0, 1);
    const roots = this.roots();
    const demandMm = demandOf(today, this.usedToDli as number);
    const open = roots * Math.exp(-this.dryDays / CLOSING_DAYS);
    const store = STORE_MM[this.kind.change] * (this.scatter.young ? 0.4 : 1);
    const loss = ((SKIN_MM + OPEN_MM * open) * (0.5 + demandMm / 4)) / store;
    const taken = (share: number) => FILLS_PER_DAY * roots * wet * (1.02 - share);
    let drunkShare = 0;
    if (this.oldPair !== undefined) {
      const due = Math.max(1, this.degreesToSkin(today.seasonAngleDeg));
      const wanted = Math.max(0, this.oldPair - OLD_LEAST) / due;
      // While the old pair drinks it gives little.
      const given = Math.min(GIVES_PER_DAY, wanted) * (1 - 0.7 * wet * Math.min(1, roots * 2));
      drunkShare = taken(this.oldPair);
      this.oldPair = clamp(this.oldPair + drunkShare - given - loss, 0, 1.02);
      // The new pair lives on the old one as long as that has water to give.
      if (this.oldPair > OLD_LEAST) this.body = Math.min(1, this.body + 0.02 * (0.97 - this.body));
      else {
        const own = FILLS_PER_DAY * roots * 0.5 * wet * (1.02 - this.body);
        drunkShare += own;
        this.body += own - loss;
      }
    } else {
      drunkShare = taken(this.body);
      this.body = clamp(this.body + drunkShare - loss, 0, 1.02);
    }
    this.dry(demandMm, drunkShare * store * COVERS[this.kind.change]);
    return this.shed();
  }

  private degreesToSkin(angle: number): number {
    const index = [1, 2].find((ahead) => ['paper', 'rest'].includes(this.stepAt(this.stepIndex + ahead)[0]));
    if (index === undefined) return 1;
    const [, begins] = this.stepAt(this.stepIndex + index);
    const ahead = (begins + this.scatter.lateDeg - angle + 720) % 360;
    return ahead > 300 ? 1 : ahead;
  }

  private dry(demandMm: number, drunkMm: number): void {
    const moist = this.potMm / this.holdsMm;
    const lossMm = demandMm * GRIT_LEAVES * this.scatter.potDries * Math.min(1, moist / 0.45);
    this.potMm = Math.max(0, this.potMm - lossMm - drunkMm);
    const after = this.potMm / this.holdsMm;
    this.dryDays = after < 0.15 ? this.dryDays + 1 : 0;
    this.wetDays = after > 0.4 ? this.wetDays + 1 : 0;
  }

  /** The old pair becomes skin, or, where it was kept full, lives on beside the new one. */
  private shed(): Harm | undefined {
    if (this.oldPair === undefined || this.inChange()) return undefined;
    const kept = this.oldPair;
    this.oldPair = undefined;
    return this.kind.change === 'pair' && kept > this.kind.doubledAbove ? 'doubled' : undefined;
  }

  private starves(): boolean {
    const least = Math.max(this.body, this.oldPair ?? 0);
    this.starvingDays = least < STARVING ? this.starvingDays + 1 : 0;
    return this.starvingDays >= STARVING_DAYS;
  }

  // --- light and rot -----------------------------------------------------------------------------------------------------

  private light(dli: number, noonPpfd: number, today: HouseDay, luck: number): Harm | undefined {
    const turgid = Math.max(this.body, this.oldPair ?? 0) > 0.88;
    const lack = clamp(1 - dli / this.kind.compactDli, 0, 1);
    const warmth = clamp((today.meanC - 5) / 12, 0, 1);
    const drinking = this.potMm / this.holdsMm > 0.1 && this.roots() > 0.15;
    if (turgid && drinking) this.stretch += lack * warmth;
    else this.stretch = Math.max(0, this.stretch - 0.1);
    if (this.stretch > STRETCH_DAYS) return 'stretched';
    const fresh = this.baredDays < FRESH_DAYS;
    const bears = this.kind.bearsPpfd * (fresh ? 0.75 : 1);
    const step = dli / Math.max(6, this.usedToDli as number) - (fresh ? FRESH_LIGHT_STEP : LIGHT_STEP);
    const overbright = noonPpfd / bears - 1;
    const leafC = today.dayMaxC + LEAF_C_PER_PPFD * noonPpfd;
    const limitC = KILLING_LEAF_C + this.scatter.heatC - (this.body < 0.6 ? 1.5 : 0);
    const hazard =
      (noonPpfd > 0.7 * bears ? 0.04 * clamp(step, 0, 1) : 0) +
      0.01 * clamp(overbright, 0, 1) +
      0.02 * clamp(leafC - limitC, 0, 5);
    return luck < hazard ? 'scorched' : undefined;
  }

  private rot(today: HouseDay, luck: number): Harm | undefined {
    const moist = this.potMm / this.holdsMm;
    if (moist < 0.3) return undefined;
    const roots = this.roots();
    const idle = clamp(1 - roots * 2.5, 0, 1);
    const warm = 0.012 * idle * clamp((today.meanC - 21) / 5, 0, 1.5);
    const cold = 0.008 * clamp((this.kind.wetMinC - today.nextNightMinC) / 4, 0, 1.5);
    const stale = this.wetDays > 14 ? 0.004 * idle : 0;
    const damp = moist > 0.6 && today.nextNightWetHours >= 6 ? 0.002 : 0;
    return luck < (warm + cold + stale + damp) * this.kind.rots * (this.scatter.young ? 1.3 : 1) ? 'rotted' : undefined;
  }
}

/** Evaporation under glass, mm a day: near the handbook form for radiation and dryness of the air (0.5 in a dull winter, 5.5 in heat). */
export const demandOf = (today: HouseDay, dli: number): number => 0.083 * dli + 0.8 * today.dayVpdKPa;

const clamp = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value));
