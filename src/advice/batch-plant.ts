import type { BatchState, Seen } from '../domain/collection.js';
import { defined } from '../domain/optional.js';
import type { Sign } from '../domain/plants.js';
import { daysBetween, type LocalDay, localDayOf, monthsBetween } from '../domain/time.js';
import type { Known, PhaseInput, PlantInput } from './fact-inputs.js';
import { whenAndWho } from './wording.js';

/**
 * How long a look stands, days (starting values). Firmness changes within a week or two and with every drink; the pairs
 * of a plant change over weeks; a sheath stays for months.
 */
const STANDS_DAYS = {
  firmness: { known: 7, told: 21 },
  pairs: { known: 14, told: 30 },
  sheath: { known: 60, told: 120 },
} as const;
/** A drink shows in the body within days: what was seen before it no longer stands. */
const ROOTS_CUT_MATTERS_DAYS = 60;

interface Morning {
  readonly site: { readonly zone: string };
  readonly day: LocalDay;
}

/** What is known of the plants of a batch this morning. */
export function plantOf(batch: BatchState, phase: PhaseInput | undefined, morning: Morning): PlantInput {
  const { zone } = morning.site;
  const age = (at: number) => daysBetween(localDayOf(zone, at), morning.day);
  const lastDrink = batch.waterings.findLast(
    (done) => done.amount !== 'none' && localDayOf(zone, done.at) < morning.day,
  );
  const told = <T>(seen: Seen<T> | undefined, stands: { known: number; told: number }, untilDrink: boolean) => {
    if (!seen) return undefined;
    const days = age(seen.at);
    if (days < 0 || days > stands.told) return undefined;
    if (untilDrink && lastDrink && lastDrink.at > seen.at) return undefined;
    const known: Known<T> = {
      value: seen.value,
      from: `seen ${whenAndWho(seen, zone)}`,
      certainty: days <= stands.known ? 'known' : 'estimated',
      daysAgo: days,
    };
    return known;
  };
  const repotted = batch.repotted;
  const repottedDaysAgo = repotted?.value.rootsCut ? age(repotted.at) : undefined;
  return {
    signs: [...batch.signs].map(
      ([sign, seen]): Known<Sign> => ({ value: sign, from: `seen ${whenAndWho(seen, zone)}`, certainty: 'known' }),
    ),
    ...defined({
      phase,
      firmness: told(batch.firmness, STANDS_DAYS.firmness, true),
      oldPair: told(batch.oldPair, STANDS_DAYS.pairs, false),
      newPair: told(batch.newPair, STANDS_DAYS.pairs, true),
      sheathed: told(batch.sheathed, STANDS_DAYS.sheath, false),
      ageMonths:
        batch.sownOn === undefined
          ? undefined
          : { value: Math.max(0, monthsBetween(batch.sownOn, morning.day)), from: `sown ${batch.sownOn}` },
      repottedDaysAgo:
        repotted && repottedDaysAgo !== undefined && repottedDaysAgo <= ROOTS_CUT_MATTERS_DAYS
          ? { value: Math.max(0, repottedDaysAgo), from: `entered ${whenAndWho(repotted, zone)}` }
          : undefined,
    }),
  };
}
