import { describe, expect, it } from 'vitest';
import type { FactInputs, Known } from '../../src/advice/fact-inputs.js';
import { gatherFacts } from '../../src/advice/facts.js';
import { FACT_NAMES, FACTS, factsDocument, factsSchema } from '../../src/domain/facts.js';
import { catalogue, groupOf } from '../rules/support.js';

const known = <T>(value: T, daysAgo?: number): Known<T> => ({
  value,
  from: 'test',
  ...(daysAgo !== undefined && { daysAgo }),
});
const input = (group: string, parts: Partial<FactInputs> = {}): FactInputs => ({
  day: '2027-05-25',
  latitudeDeg: 51,
  group: groupOf(group),
  general: catalogue.general,
  plant: { signs: [] },
  pot: { mlPerMm: 4.5, availableMm: 10 },
  house: { recent: {}, tonight: {}, ahead: {} },
  ...parts,
});

describe('the declaration of facts', () => {
  it('names unit, meaning and source of each, and the document shows them all', () => {
    const document = factsDocument();
    for (const name of FACT_NAMES) {
      const info = FACTS[name];
      expect(info?.meaning.length, name).toBeGreaterThan(5);
      expect(info?.source.length, name).toBeGreaterThan(3);
      expect(document).toContain(`| \`${name}\` |`);
    }
    expect(FACTS.tonightMinC?.unit).toBe('°C');
    expect(FACTS.signTightOldSkin?.kind).toBe('flag');
  });

  it('refuses facts that are not declared, and values that cannot be', () => {
    const fact = (value: unknown) => ({ value, certainty: 'known', from: 'test' });
    expect(factsSchema.safeParse({ tonightMinC: fact(9) }).success).toBe(true);
    expect(factsSchema.safeParse({ tonightMinF: fact(50) }).success).toBe(false);
    expect(factsSchema.safeParse({ tonightMinC: fact('9') }).success).toBe(false);
    expect(factsSchema.safeParse({ firmness: fact('crisp') }).success).toBe(false);
  });
});

describe('the season', () => {
  it('is worked out from day and latitude, and means the same in both hemispheres', () => {
    // Solar longitude 60 falls on 21 May and 240 on 22 November: 240° of season in the north and in the south.
    const north = gatherFacts(input('echeveria', { day: '2027-05-21' })).seasonAngleDeg?.value;
    const south = gatherFacts(input('echeveria', { day: '2027-11-22', latitudeDeg: -33 })).seasonAngleDeg?.value;
    expect(north).toBeCloseTo(240, -1);
    expect(south).toBeCloseTo(240, -1);
  });

  it('is unknown near the equator, and then no phase is guessed', () => {
    const facts = gatherFacts(input('echeveria', { latitudeDeg: 3 }));
    expect(facts.seasonAngleDeg).toBeUndefined();
    expect(facts.waterPhase).toBeUndefined();
  });
});

describe('softness', () => {
  const papery = {
    phase: 'leaf-replacement',
    stage: 'papery',
    probability: 1,
    certainty: 'known',
    from: 'test',
  } as const;
  const splitting = { ...papery, stage: 'splitting' } as const;

  it('is that of the new pair while the pair changes; the old one says nothing of it', () => {
    const facts = gatherFacts(
      input('lithops-summer-rain', { plant: { phase: splitting, firmness: known('soft'), signs: [] } }),
    );
    expect(facts.newPairSoftness).toBeUndefined();
    expect(facts.thirst).toBeUndefined();
  });

  it('is that of the body once the old pair is paper', () => {
    const facts = gatherFacts(
      input('lithops-summer-rain', { plant: { phase: papery, firmness: known('soft'), signs: [] } }),
    );
    expect(facts.newPairSoftness?.value).toBe('soft');
  });

  it('stops counting when the look is old: firm dries on, soft was watered since', () => {
    const dry = { mlPerMm: 4.5, availableMm: 10, dryDays: known(20) };
    const seen = (firmness: Known<'firm' | 'soft'>, pot: FactInputs['pot']) =>
      gatherFacts(input('lithops-summer-rain', { plant: { firmness, signs: [] }, pot })).firmness?.value;
    expect(seen(known('firm', 10), dry)).toBe('firm');
    expect(seen(known('firm', 15), dry)).toBeUndefined();
    expect(seen(known('soft', 30), dry)).toBe('soft');
    const watered = { ...dry, lastWatering: { daysAgo: 4, amount: 'full', from: 'test' } as const };
    expect(seen(known('soft', 6), watered)).toBeUndefined();
    expect(seen(known('soft', 3), watered)).toBe('soft');
  });
});

describe('the pot', () => {
  it('is moist while it holds water, whatever the count of dry days is missing', () => {
    const facts = gatherFacts(input('echeveria', { pot: { mlPerMm: 4.5, availableMm: 10, depletion: known(0.6) } }));
    expect(facts.dryDays).toMatchObject({ value: 0, certainty: 'estimated' });
  });

  it('has given its water when it has been dry for days', () => {
    const facts = gatherFacts(input('echeveria', { pot: { mlPerMm: 4.5, availableMm: 10, dryDays: known(3) } }));
    expect(facts.depletion).toMatchObject({ value: 1, certainty: 'estimated' });
  });

  it('is unknown when nothing is known of it', () => {
    const facts = gatherFacts(input('echeveria'));
    expect(facts.dryDays).toBeUndefined();
    expect(facts.depletion).toBeUndefined();
  });
});

describe('the weather ahead', () => {
  const ahead = (house: FactInputs['house']) => gatherFacts(input('lithops-summer-rain', { house }));

  it('knows a hot spell by two of three days at 35 °C, or three nights at 22 °C', () => {
    const spell = (dayMaxC: number[], nightMinC: number[] = []) =>
      ahead({ recent: {}, tonight: {}, ahead: { dayMaxC, nightMinC } }).aheadHotSpell?.value;
    expect(spell([35, 30, 35])).toBe(true);
    expect(spell([35, 34, 34])).toBe(false);
    expect(spell([30, 30, 30], [22, 22, 22])).toBe(true);
    expect(spell([30, 30, 30], [22, 22, 21])).toBe(false);
  });

  it('lets the last week stand in for a forecast and says so', () => {
    const facts = ahead({ recent: { dayMaxC: known(36), dli: known(20) }, tonight: {}, ahead: {} });
    expect(facts.aheadDayMaxC).toMatchObject({ value: 36, certainty: 'estimated' });
    expect(facts.aheadHotSpell).toMatchObject({ value: true, certainty: 'estimated' });
    expect(facts.forecastDayMaxC).toBeUndefined();
  });

  it('counts dull days in a row', () => {
    const run = (dli: number[]) => ahead({ recent: {}, tonight: {}, ahead: { dli } }).aheadDullDays?.value;
    expect(run([5, 5, 12])).toBe(2);
    expect(run([5, 12, 5])).toBe(1);
    expect(run([12, 5, 5])).toBe(2);
    expect(run([6, 6, 6])).toBe(0);
  });

  it('estimates the hottest leaf: 15 °C above the air at 1000 W/m² with vents open, 20 °C shut', () => {
    // 1000 W/m² of global radiation are 2056.5 µmol m⁻² s⁻¹ (0.45 × 4.57 per W).
    const house = { recent: { dayMaxC: known(30) }, tonight: {}, ahead: { peakPpfdUmol: [2056.5] } };
    expect(Number(ahead(house).leafTempC?.value)).toBeCloseTo(45, 1);
    expect(Number(ahead({ ...house, stillAir: true }).leafTempC?.value)).toBeCloseTo(50, 1);
  });
});

describe('the light step', () => {
  const ratio = (group: string, dli: number, now: number) =>
    gatherFacts(
      input(group, {
        lightHistory: { dli: known(dli), days: 10 },
        house: { recent: { dli: known(now) }, tonight: {}, ahead: {} },
      }),
    ).lightStepRatio?.value;

  it('is expected light over 1.3 times what it was used to, with a floor of 6, 4 for Haworthia', () => {
    expect(ratio('lithops-summer-rain', 20, 26)).toBeCloseTo(1, 6);
    expect(ratio('lithops-summer-rain', 3, 12)).toBeCloseTo(2, 6);
    expect(ratio('haworthia-soft', 3, 8)).toBeCloseTo(2, 6);
  });
});
