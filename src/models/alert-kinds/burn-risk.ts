import { localDayOf, shortDay } from '../../domain/time.js';
import { leafTempC } from '../../science/heat.js';
import { globalFromPpfdWm2 } from '../../science/light.js';
import { atRisk, degrees, type Finding, HEAT_CAUTION, joined, sentences } from './finding.js';
import { basisOf, type HouseFacts, LEAD_DAYS } from './house-facts.js';

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
const MOST_RADIATION_WM2 = 1500;

function leafNow(facts: HouseFacts): number | undefined {
  const { airTempC, radiationWm2 } = facts.now;
  if (airTempC === undefined || radiationWm2 === undefined || radiationWm2 > MOST_RADIATION_WM2) return undefined;
  return leafTempC(airTempC, radiationWm2, air(facts));
}

/** Hottest hour to come, as the middle of the forecast has it. An hour's mean is an hour on end. */
function hottestAhead(facts: HouseFacts): HotLeaf | undefined {
  let hottest: HotLeaf | undefined;
  for (const { at, airTempC, ppfdUmol } of facts.outlook?.hours ?? []) {
    if (at < facts.at || at > facts.at + LEAD_DAYS * 86_400_000 || ppfdUmol === undefined) continue;
    const radiationWm2 = globalFromPpfdWm2(ppfdUmol);
    if (radiationWm2 > MOST_RADIATION_WM2) continue;
    const leafC = leafTempC(airTempC.p50, radiationWm2, air(facts));
    if (hottest === undefined || leafC > hottest.leafC) hottest = { at, leafC };
  }
  return hottest;
}

function firstAhead(facts: HouseFacts, limitC: number): number | undefined {
  return (facts.outlook?.hours ?? []).find(
    ({ at, airTempC, ppfdUmol }) =>
      at >= facts.at &&
      ppfdUmol !== undefined &&
      globalFromPpfdWm2(ppfdUmol) <= MOST_RADIATION_WM2 &&
      leafTempC(airTempC.p50, globalFromPpfdWm2(ppfdUmol), air(facts)) >= limitC,
  )?.at;
}

export function burnRisk(facts: HouseFacts): Finding {
  const subject = { kind: 'burn-risk', houseId: facts.houseId, subject: '' } as const;
  const { limits, batches } = facts;
  const now = leafNow(facts);
  const ahead = hottestAhead(facts);
  const told = batches.filter(({ verdictAlerts }) => verdictAlerts.includes('burn-risk'));
  if (now === undefined && ahead === undefined && told.length === 0) return { ...subject, known: false };
  const hottest = Math.max(now ?? Number.NEGATIVE_INFINITY, ahead?.leafC ?? Number.NEGATIVE_INFINITY);
  const isHot = hottest >= limits.burnLeafC;
  if (!isHot && told.length === 0) return { ...subject, known: true, level: 0, clear: hottest < limits.burnClearLeafC };
  const level = hottest >= limits.burnLeafAtOnceC ? 2 : 1;
  const hotNow = now !== undefined && now >= limits.burnLeafC;
  const endangered = isHot ? batches : told;
  const begins = hotNow ? undefined : firstAhead(facts, limits.burnLeafC);
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
            ? `${joined(lightOnly.slice(0, 3).map(({ name }) => name))}${lightOnly.length > 3 ? ` and ${lightOnly.length - 3} more` : ''} would get far more light than they are used to.`
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
