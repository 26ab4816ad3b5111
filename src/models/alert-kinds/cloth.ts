import { clockAt, localDayOf, shortDay } from '../../domain/time.js';
import { type ClothState, inferClothState, type LightPair, measuredTransmission } from '../../science/transmission.js';
import type { AlertLimits } from '../alert-limits.js';
import { type AlertBatch, type Finding, HEAT_CAUTION, LADDER_CAUTION, sentences } from './finding.js';

/*
 * Cloth not as advised: the light that comes in says that another cloth hangs than the advice asks for, or than the
 * journal says.
 */

export interface ClothFacts {
  readonly at: number;
  readonly zone: string;
  readonly houseId: string;
  readonly houseName: string;
  readonly limits: AlertLimits;
  /** Of the house; without any there is nothing to hang. */
  readonly cloths: readonly { readonly id: string; readonly name: string; readonly shadePct: number }[];
  /** What ought to hang, and since when; null: nothing. Undefined: nobody said. */
  readonly wanted:
    | { readonly clothId: string | null; readonly since: number; readonly by: 'advice' | 'journal' }
    | undefined;
  /** Light inside and outside since it ought to hang, today, rising in time. */
  readonly pairs: readonly LightPair[];
  /** Share of light the cover lets through without cloth, and how well it is known. */
  readonly coverTransmission: number;
  readonly coverSpread: number;
  readonly batches: readonly Pick<AlertBatch, 'batchId'>[];
}

/** What hangs is believed again from this probability on (starting value). */
const BELIEVED_AGAIN = 0.5;
const BARE = 'none';

export function clothNotAsAdvised(facts: ClothFacts): Finding {
  const subject = { kind: 'cloth-not-as-advised', houseId: facts.houseId, subject: '' } as const;
  const { cloths, wanted, limits } = facts;
  if (cloths.length === 0) return { ...subject, known: true, level: 0, clear: true };
  const seen = measuredTransmission(facts.pairs);
  if (wanted === undefined || seen === undefined) return { ...subject, known: false };
  const states: ClothState[] = [
    { id: BARE, transmission: 1 },
    ...cloths.map(({ id, shadePct }) => ({ id, transmission: 1 - shadePct / 100, spread: CLOTH_SPREAD })),
  ];
  const belief = inferClothState(seen, facts.coverTransmission, facts.coverSpread, states);
  const wantedId = wanted.clothId ?? BARE;
  const asWanted = belief.find(({ id }) => id === wantedId)?.probability;
  const [likeliest] = belief;
  if (asWanted === undefined || likeliest === undefined) return { ...subject, known: false };
  if (1 - asWanted < limits.clothSurePct / 100)
    return { ...subject, known: true, level: 0, clear: asWanted >= BELIEVED_AGAIN };
  const nameOf = (id: string): string => cloths.find((cloth) => cloth.id === id)?.name ?? 'no cloth';
  const came = Math.round(100 * seen.transmission);
  const since = `${shortDay(localDayOf(facts.zone, wanted.since))}, ${clockAt(facts.zone, wanted.since)}`;
  const expected = Math.round(
    100 * facts.coverTransmission * (states.find(({ id }) => id === wantedId)?.transmission ?? 1),
  );
  return {
    ...subject,
    known: true,
    level: 1,
    detail: {
      text: {
        title: `Another cloth hangs in ${facts.houseName} than ${wanted.by === 'advice' ? 'advised' : 'entered'}`,
        reason: sentences(
          wanted.by === 'advice'
            ? `Advised since ${since}: ${nameOf(wantedId)}.`
            : `The journal says since ${since}: ${nameOf(wantedId)}.`,
          `But ${came} % of the light outside comes in, where about ${expected} % is expected: that is like ${nameOf(likeliest.id)}.`,
        ),
        whatToDo:
          wanted.by === 'advice'
            ? 'Hang or take off the cloth as advised, or enter what hangs if it was decided otherwise.'
            : 'Look what hangs, and enter it: the advice for light and drinks goes by it.',
        caution: `${LADDER_CAUTION} ${HEAT_CAUTION}`,
      },
      batchIds: facts.batches.map(({ batchId }) => batchId),
    },
  };
}

/** True shade differs from the nominal by some hundredths (see the science of transmission). */
const CLOTH_SPREAD = 0.05;
