import { addDays, localDayBounds, localDayOf, shortDay } from '../../domain/time.js';
import { inSeries } from '../../domain/wording.js';
import { leafTempC } from '../../science/heat.js';
import { RADIATION_FROM } from '../../science/light.js';
import { atRisk, degrees, type Finding, HEAT_CAUTION, sentences } from './finding.js';
import { basisOf, type HouseFacts, LEAD_DAYS, todayOf } from './house-facts.js';

/*
 * Burn risk: leaves in the sun come near the heat that kills, now (for an hour on end) or in an hour that is forecast; or
 * plants get far more light than they know, as freshly split or moved ones do. The second is the rulebook's to tell.
 */

interface HotLeaf {
  readonly at: number;
  readonly leafC: number;
}

const air = ({ stillAir }: HouseFacts) => (stillAir ? 'still-air' : 'moving-air');

/** Light beyond what the sun can give is a sensor's fault, and says nothing of leaves. */
export const MOST_RADIATION_WM2 = 1500;

function leafNow(facts: HouseFacts): number | undefined {
  const { airTempC, radiationWm2 } = facts.now;
  if (airTempC === undefined || radiationWm2 === undefined || radiationWm2 > MOST_RADIATION_WM2) return undefined;
  return leafTempC(airTempC, radiationWm2, air(facts));
}

/** Leaves in the hours to come, as the middle of the forecast has them. An hour's mean is an hour on end. */
function leavesAhead(facts: HouseFacts): HotLeaf[] {
  const { endMs } = localDayBounds(facts.zone, addDays(todayOf(facts), LEAD_DAYS));
  return (facts.outlook?.hours ?? []).flatMap(({ at, airTempC, ppfdUmol }): HotLeaf[] => {
    if (at < facts.at || at >= endMs || ppfdUmol === undefined) return [];
    const radiationWm2 = RADIATION_FROM.ppfdUmol(ppfdUmol);
    return radiationWm2 > MOST_RADIATION_WM2 ? [] : [{ at, leafC: leafTempC(airTempC.p50, radiationWm2, air(facts)) }];
  });
}

const hottestOf = (leaves: readonly HotLeaf[]): HotLeaf | undefined =>
  leaves.reduce<HotLeaf | undefined>((a, b) => (a && a.leafC >= b.leafC ? a : b), undefined);

export function burnRisk(facts: HouseFacts): Finding {
  const subject = { kind: 'burn-risk', houseId: facts.houseId, subject: '' } as const;
  const { limits, batches } = facts;
  const now = leafNow(facts);
  const coming = leavesAhead(facts);
  const ahead = hottestOf(coming);
  const told = batches.filter(({ verdictAlerts }) => verdictAlerts.includes('burn-risk'));
  if (now === undefined && ahead === undefined && told.length === 0) return { ...subject, known: false };
  const hottest = Math.max(now ?? Number.NEGATIVE_INFINITY, ahead?.leafC ?? Number.NEGATIVE_INFINITY);
  const isHot = hottest >= limits.burnLeafC;
  // A cool hour now is no end of a hot week: only who looks ahead can say that it is past.
  if (!isHot && told.length === 0)
    return { ...subject, known: true, level: 0, clear: ahead !== undefined && hottest < limits.burnClearLeafC };
  const level = hottest >= limits.burnLeafAtOnceC ? 2 : 1;
  const hotNow = now !== undefined && now >= limits.burnLeafC;
  const endangered = isHot ? batches : told;
  const begins = hotNow ? undefined : coming.find(({ leafC }) => leafC >= limits.burnLeafC)?.at;
  const lightOnly = isHot ? [] : told;
  return {
    ...subject,
    known: true,
    level,
    // What is measured must last an hour, unless it is so hot that an hour is too long.
    atOnce: level === 2 || !hotNow || told.length > 0,
    detail: {
      text: {
        title: `Plants may burn in ${facts.houseName}`,
        reason: sentences(
          hotNow ? `Leaves in the sun are at about ${degrees(now)} now.` : '',
          ahead && ahead.leafC >= limits.burnLeafC
            ? `On ${shortDay(localDayOf(facts.zone, ahead.at))} leaves in the sun can reach about ${degrees(ahead.leafC)}.`
            : '',
          isHot ? `From ${degrees(limits.burnLeafC)} on, for an hour, they come near the heat that kills.` : '',
          lightOnly.length > 0
            ? `${inSeries(lightOnly.slice(0, 3).map(({ name }) => name))}${lightOnly.length > 3 ? ` and ${lightOnly.length - 3} more` : ''} would get far more light than they are used to.`
            : '',
          basisOf(facts),
          atRisk(endangered, batches),
        ),
        whatToDo: hotNow
          ? 'Hang the cloth now, open every vent, start the fans. Water does not cool them: leave them dry.'
          : 'Hang the cloth before ten in the morning and open the vents early. Raise the light of plants that were split or moved in steps over days.',
        ...(facts.buys?.['burn-risk'] !== undefined && { buys: facts.buys['burn-risk'] }),
        caution: HEAT_CAUTION,
      },
      batchIds: endangered.map(({ batchId }) => batchId),
      ...(begins !== undefined && begins > facts.at && { expectedAt: begins }),
      lastDay: localDayOf(
        facts.zone,
        Math.max(facts.at, ahead && ahead.leafC >= limits.burnLeafC ? ahead.at : facts.at),
      ),
    },
  };
}
