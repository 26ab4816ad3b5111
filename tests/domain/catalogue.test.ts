import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import {
  CATALOGUE_FILES,
  type Catalogue,
  type CatalogueFile,
  catalogueEntry,
  parseCatalogue,
} from '../../src/domain/catalogue.js';
import { problemLine } from '../../src/domain/errors.js';

// biome-ignore lint/suspicious/noExplicitAny: the tests break raw files in many places
type Raw = Record<CatalogueFile, any>;

const rawCatalogue = (): Raw =>
  Object.fromEntries(
    CATALOGUE_FILES.map((file) => [
      file,
      parse(readFileSync(new URL(`../../config/catalogue/${file}.yaml`, import.meta.url), 'utf8')),
    ]),
  ) as Raw;

const shipped = (): Catalogue => {
  const result = parseCatalogue(rawCatalogue());
  if (!result.ok) throw new Error(result.problems.map(problemLine).join('\n'));
  return result.catalogue;
};

const problemsOf = (change: (raw: Raw) => void): string[] => {
  const raw = rawCatalogue();
  change(raw);
  const result = parseCatalogue(raw);
  return result.ok ? [] : result.problems.map(problemLine);
};

describe('the shipped catalogue', () => {
  const catalogue = shipped();

  it('holds every species group of the decision cases', () => {
    expect(catalogue.speciesGroups.map((group) => group.id).sort()).toEqual(
      [
        'lithops-summer-rain',
        'lithops-winter-rain',
        'conophytum',
        'pleiospilos',
        'argyroderma',
        'dinteranthus',
        'lapidaria',
        'titanopsis-aloinopsis',
        'fenestraria',
        'faucaria',
        'gibbaeum',
        'monilaria-oophytum',
        'cheiridopsis',
        'adromischus',
        'haworthia-soft',
        'echeveria',
        'crassula-winter',
      ].sort(),
    );
  });

  it('gives every group a policy for each phase a grower may enter', () => {
    for (const group of catalogue.speciesGroups) {
      expect(Object.keys(group.water.phases), group.id).toEqual(
        expect.arrayContaining(['growing', 'flowering', 'seed-set', 'dormant-warm', 'dormant-cold', 'waking']),
      );
    }
  });

  it('never allows a full drink while a new pair is forming or splitting', () => {
    for (const group of catalogue.speciesGroups) {
      for (const phase of ['forming', 'splitting'] as const) {
        const policy = group.water.phases[phase];
        if (!policy) continue;
        expect(policy.atMost, `${group.id} ${phase}`).not.toBe('full');
        expect(policy.options.map((option) => option.amount)).not.toContain('full');
      }
    }
  });

  it('keeps strict rest dry', () => {
    const warmRest = (id: string) =>
      catalogueEntry('species group', catalogue.speciesGroups, id).water.phases['dormant-warm'];
    expect(warmRest('monilaria-oophytum')).toMatchObject({ atMost: 'none', options: [] });
    expect(warmRest('lithops-winter-rain')).toMatchObject({ atMost: 'none', options: [] });
    expect(warmRest('conophytum')?.atMost).toBe('light');
  });

  it('keeps each limit in its order: safe when dry below safe when wet, growth below stall below damage', () => {
    for (const { id, climate, light } of catalogue.speciesGroups) {
      expect(climate.minSafeDryC, id).toBeLessThan(climate.minSafeWetC);
      expect(climate.growthDayC[1], id).toBeLessThan(climate.heatStallDayMaxC);
      expect(climate.growthNightC[1], id).toBeLessThan(climate.heatStallNightMinC);
      expect(climate.heatStallDayMaxC, id).toBeLessThan(climate.damageDayMaxC);
      expect(light.dliLow, id).toBeLessThanOrEqual(light.dliTarget[0]);
    }
  });

  it('has a kind and a text for every source', () => {
    expect(catalogue.sources['species-groups'].practice).toEqual({
      kind: 'common-practice',
      text: 'common practice, no published source',
    });
    // The same key says something else in each file.
    expect(catalogue.sources['species-groups'].starting?.text).toMatch(/replace it by your own records$/);
    expect(catalogue.sources.cloths.starting?.text).toMatch(/^our starting value: transmission/);
  });

  it('has the pot, mix and cover that batches and houses get when none is named', () => {
    expect(catalogueEntry('pot', catalogue.pots, 'square-7cm-plastic')).toMatchObject({ areaCm2: 45, depthCm: 4.6 });
    expect(catalogueEntry('mix', catalogue.mixes, 'mineral-80-20').thetaContainerCapacity).toBe(0.24);
    expect(catalogueEntry('cover', catalogue.covers, 'single-glass').wetMarginC).toBe(2);
  });

  it('names what there is when an id is unknown', () => {
    expect(() => catalogueEntry('mix', catalogue.mixes, 'moon-dust')).toThrow(/no mix called moon-dust/);
  });
});

describe('a catalogue with mistakes', () => {
  it('lists every mistake at once, with its place', () => {
    const problems = problemsOf((raw) => {
      raw['species-groups'].groups[0].climate.minSafeDryC = 'cold';
      raw['species-groups'].groups[1].lightt = {};
      raw.pots.pots[0].material = 'gold';
    });
    expect(problems).toHaveLength(3);
    expect(problems[0]).toMatch(/^species-groups\.groups\[0\]\.climate\.minSafeDryC: expected number.*got "cold"/);
    expect(problems[1]).toMatch(/^species-groups\.groups\[1\]: expected only known keys, got lightt\. Correct/);
    expect(problems[2]).toMatch(/^pots\.pots\[0\]\.material: expected .*got "gold"/);
  });

  it('says which file is missing', () => {
    const { mixes: _, ...rest } = rawCatalogue();
    const result = parseCatalogue(rest);
    expect(result.ok ? [] : result.problems.map(problemLine)).toEqual([
      'mixes: expected the file mixes.yaml, got nothing. Put mixes.yaml beside the other catalogue files.',
    ]);
  });

  it('refuses a value without a known source', () => {
    expect(
      problemsOf((raw) => {
        raw.mixes.mixes[0].source = ['hearsay'];
      }),
    ).toEqual([expect.stringMatching(/^mixes\.mixes\[0\]\.source: expected keys of `sources`.*got hearsay/)]);
    expect(
      problemsOf((raw) => {
        raw.mixes.mixes[0].source = [];
      }),
    ).toHaveLength(1);
  });

  it('refuses an id used twice, a mix that holds nothing, a range upside down', () => {
    expect(
      problemsOf((raw) => {
        raw.pots.pots[1].id = raw.pots.pots[0].id;
        raw.mixes.mixes[0].thetaLowerLimit = 0.2;
      }),
    ).toEqual([
      'pots.pots[1].id: expected an id used once, got square-5cm-plastic.',
      'mixes.mixes[0].thetaLowerLimit: expected less than thetaContainerCapacity (0.18), got 0.2.',
    ]);
    expect(
      problemsOf((raw) => {
        raw['species-groups'].groups[0].light.dliTarget = [30, 10];
      }),
    ).toEqual([expect.stringContaining('two numbers, the lower first')]);
  });

  it('refuses a cycle out of order, a replacement without a stage, a phase without a policy', () => {
    const problems = problemsOf((raw) => {
      const [first] = raw['species-groups'].groups;
      first.cycle.steps.reverse();
      first.cycle.steps.find((step: { stage?: string }) => step.stage === 'splitting').stage = undefined;
      delete first.water.phases['dormant-cold'];
    });
    expect(problems).toEqual([
      expect.stringMatching(/cycle\.steps\[\d\]\.stage: expected a stage of leaf replacement/),
      expect.stringMatching(/water\.phases\.dormant-cold: expected a water policy/),
      expect.stringMatching(/cycle\.steps: expected steps in the order they begin/),
    ]);
  });
});

describe("a grower's own group", () => {
  it('takes what it does not say from the group it is based on', () => {
    const raw = rawCatalogue();
    raw['species-groups'].groups.push({
      id: 'conophytum-summer',
      name: 'Conophytum, summer growers',
      basedOn: 'conophytum',
      growthType: 'summer',
    });
    const result = parseCatalogue(raw);
    if (!result.ok) throw new Error(result.problems.map(problemLine).join('\n'));
    const own = catalogueEntry('species group', result.catalogue.speciesGroups, 'conophytum-summer');
    expect(own).toMatchObject({ growthType: 'summer', climate: { heatStallDayMaxC: 28 } });
  });

  it('must be based on a group that exists', () => {
    expect(
      problemsOf((raw) => {
        raw['species-groups'].groups.push({ id: 'mine', name: 'Mine', basedOn: 'nobody' });
      })[0],
    ).toMatch(/basedOn: expected the id of a group that is written out in full, got "nobody"/);
  });
});
