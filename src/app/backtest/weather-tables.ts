import { spellLimits } from '../../models/alert-kinds/heat-days.js';
import { alertLimitsOf } from '../../models/alert-limits.js';
import type { HotSpellLimits } from '../../models/hot-spell.js';
import { brierDecomposition, type Contingency, contingencyScores, reliabilityBins } from '../../science/scores.js';
import {
  excessHeatSpells,
  inWarmMonths,
  inWinter,
  percentileSpells,
  readAustralia,
  type Spell,
  type SpellSite,
  serviceSpells,
} from './australian-spells.js';
import { backtestHotDays, type HotDayScores } from './hot-days.js';
import { HOT_LIMITS } from './hot-limits.js';
import { CHANGING, heatHouseNames, hotSpellMornings, readHeatHouse, warmDayScores } from './house-heat.js';
import { backtestSeoul } from './seoul-forecasts.js';
import { figure, textTable } from './tables.js';
import { readUsForecasts } from './us-forecasts.js';

const scoresOf = (table: Contingency): string[] => {
  const { pod, far, csi } = contingencyScores(table);
  return [figure(pod), figure(far), figure(csi, 3)];
};

/** Hot days by lead, beside the plain forecast and the last known day; reliability by tenths. */
export async function hotDayTables(dataFolder: string): Promise<string[]> {
  const { dates, sites } = readUsForecasts(dataFolder);
  const { scores, errors, from, to, sites: count } = backtestHotDays(dates, sites);
  return [
    `Hot days, ${count} cities of the United States, ${from} to ${to}: high above the 90th percentile of the site's own highs.`,
    'Walked through day by day; every forecast is judged with what was known when it was issued.',
    '',
    'Mean absolute error of the high, °C',
    ...textTable([
      ['lead', 'days', 'forecast', 'corrected', 'last known day'],
      ...errors.map(({ leadHours, days, rawMaeC, correctedMaeC, persistenceMaeC }) => [
        `${leadHours} h`,
        `${days}`,
        figure(rawMaeC),
        figure(correctedMaeC),
        figure(persistenceMaeC),
      ]),
    ]),
    ...HOT_LIMITS.flatMap((limit) =>
      hotDayTable(
        limit,
        scores.filter((one) => one.limit === limit),
      ),
    ),
  ];
}

function hotDayTable(limit: string, scores: readonly HotDayScores[]): string[] {
  return [
    '',
    `Percentile of: ${limit}. POD, FAR, CSI of warnings from the probability chosen on the past; of the forecast above the limit; of the last known day above it`,
    ...textTable([
      [
        'lead',
        'events',
        'from',
        'POD',
        'FAR',
        'CSI',
        'plain POD',
        'FAR',
        'CSI',
        'last day POD',
        'FAR',
        'CSI',
        'Brier skill',
      ],
      ...scores.map(({ leadHours, model, plain, persistence, lastThreshold, pairs }) => [
        `${leadHours} h`,
        `${model.hits + model.misses}`,
        figure(lastThreshold),
        ...[model, plain, persistence].flatMap(scoresOf),
        figure(brierDecomposition(reliabilityBins(pairs, 100))?.skill),
      ]),
    ]),
    'Reliability: probability told minus share that came true (forecasts in the bin)',
    ...textTable([
      ['lead', ...Array.from({ length: 10 }, (_, i) => `${10 * i}-${10 * (i + 1)} %`)],
      ...scores.map(({ leadHours, pairs }) => [
        `${leadHours} h`,
        ...reliabilityBins(pairs).map(({ probability, count, events }) =>
          count === 0 ? '-' : `${signed(probability - events / count)} (${count})`,
        ),
      ]),
    ]),
  ];
}

const signed = (value: number): string => `${value >= 0 ? '+' : '-'}${Math.abs(value).toFixed(3)}`;

/** The next day's maximum, corrected by what earlier years taught. */
export async function maximaTable(dataFolder: string): Promise<string[]> {
  const scores = backtestSeoul(dataFolder);
  return [
    `Next day's maximum, 25 stations in Seoul, summer of ${scores.year} (${scores.days} forecasts), mean absolute error, °C`,
    ...textTable([
      ["today's maximum again", figure(scores.persistenceMaeC)],
      ['the numerical model as it came', figure(scores.rawMaeC)],
      ['station offsets of the years before', figure(scores.offsetsMaeC)],
      ['corrected, learned on the years before', figure(scores.correctedMaeC)],
      ['corrected, learning on day by day', figure(scores.learningOnMaeC)],
    ]),
  ];
}

export const limitsFor = (leafPair: boolean): HotSpellLimits =>
  spellLimits({ limits: alertLimitsOf(), batches: leafPair ? [CHANGING] : [] });

/** Spells by the published definitions and by the rule of the service, on outdoor air taken as a house's. */
export async function spellTable(dataFolder: string): Promise<string[]> {
  const sites = readAustralia(dataFolder);
  const years =
    sites.reduce((sum, { days }) => sum + days.filter((day) => day.dayMaxC !== undefined).length, 0) / 365.25;
  const row = (name: string, of: (site: SpellSite) => readonly Spell[]): string[] => {
    const spells = sites.flatMap(of);
    const winter = spells.filter(inWinter);
    return [
      name,
      `${spells.length}`,
      figure(spells.length / years),
      figure(100 * (1 - spells.filter(inWarmMonths).length / spells.length), 0),
      `${winter.length}`,
      `${winter.filter(({ site }) => !TROPICAL.includes(site)).length}`,
    ];
  };
  return [
    `Spells at ${sites.length} Australian sites, ${years.toFixed(0)} site-years`,
    ...textTable([
      ['definition', 'spells', 'a site-year', '% outside Nov-Mar', 'June-Aug', 'of them south of the tropics'],
      row('3 days above the calendar-day 90th percentile', percentileSpells),
      row('excess heat factor above 0', excessHeatSpells),
      row('rule of the service', (site) => serviceSpells(site, limitsFor(false))),
      row('the same while leaf pairs change', (site) => serviceSpells(site, limitsFor(true))),
    ]),
  ];
}

/** Sites north of the Tropic of Capricorn, where winter days pass 32 °C and nights 22 °C. */
export const TROPICAL: readonly string[] = ['Cairns', 'Darwin', 'Katherine'];

/** Only so many days are named. */
const DAYS_NAMED = 6;

/** Warm days told a day ahead, and mornings on which the hot-spell alert held. */
export async function houseHeatTables(dataFolder: string): Promise<string[]> {
  const houses = [];
  for (const name of await heatHouseNames(dataFolder)) houses.push(await readHeatHouse(dataFolder, name));
  return [
    'Warm days in real houses, told by the house model at 06:00 (a perfect outside forecast); 40 % likely counts as told',
    ...textTable([
      [
        'house',
        'warm from',
        'lead',
        'days',
        'warm',
        'POD',
        'FAR',
        'CSI',
        'middle POD',
        'FAR',
        'CSI',
        'last day POD',
        'FAR',
        'CSI',
      ],
      ...houses.flatMap((house) =>
        [0, 1].map((lead) => {
          const { days, warmDays, told, middle, persistence } = warmDayScores(house, lead);
          return [
            house.name,
            `${house.warmDayC} °C`,
            `${lead}`,
            `${days}`,
            `${warmDays}`,
            ...[told, middle, persistence].flatMap(scoresOf),
          ];
        }),
      ),
    ]),
    '',
    'Mornings on which the hot-spell alert holds, with the limit for plants that change their leaf pair',
    ...textTable(
      houses.map((house) => {
        const mornings = hotSpellMornings(house);
        const more = mornings.length - DAYS_NAMED;
        return [
          house.name,
          `${mornings.length} of ${house.mornings.length}`,
          mornings.length === 0
            ? 'none'
            : `${mornings.slice(0, DAYS_NAMED).join(', ')}${more > 0 ? ` and ${more} more` : ''}`,
        ];
      }),
    ),
  ];
}
