import { z } from 'zod';
import {
  type Cloth,
  type Cover,
  type CycleStep,
  clothKindSchema,
  coverSchema,
  depthFactorSchema,
  type GeneralCare,
  generalSchema,
  type Mix,
  mixSchema,
  type Pot,
  potSchema,
  type SourceEntry,
  type SpeciesGroup,
  sourceKeys,
  sourcesSchema,
  speciesGroupSchema,
  WATER_PHASES,
} from './catalogue-entries.js';
import { LeafturnError, type Problem } from './errors.js';
import { STAGES } from './plants.js';

export * from './catalogue-entries.js';

const filesSchema = {
  'species-groups': z.strictObject({
    sources: sourcesSchema,
    general: generalSchema,
    groups: z.array(speciesGroupSchema).min(1).max(200),
  }),
  mixes: z.strictObject({
    sources: sourcesSchema,
    depthFactors: z.strictObject({ source: sourceKeys, mineral: z.array(depthFactorSchema).min(2) }),
    mixes: z.array(mixSchema).min(1),
  }),
  pots: z.strictObject({
    sources: sourcesSchema,
    clayFactor: z.strictObject({ source: sourceKeys, value: z.number().min(1).max(4) }),
    gritTopFactor: z.strictObject({ source: sourceKeys, value: z.number().min(0.1).max(1) }),
    pots: z.array(potSchema).min(1),
  }),
  covers: z.strictObject({ sources: sourcesSchema, covers: z.array(coverSchema).min(1) }),
  cloths: z.strictObject({ sources: sourcesSchema, cloths: z.array(clothKindSchema).min(1) }),
};

export const CATALOGUE_FILES = ['species-groups', 'mixes', 'pots', 'covers', 'cloths'] as const;
export type CatalogueFile = (typeof CATALOGUE_FILES)[number];

export interface Catalogue {
  readonly general: GeneralCare;
  readonly speciesGroups: readonly SpeciesGroup[];
  readonly mixes: readonly Mix[];
  /** Factor on the container capacity of mineral mixes by pot depth, shallowest first. */
  readonly mineralDepthFactors: readonly { readonly depthCm: number; readonly factor: number }[];
  readonly pots: readonly Pot[];
  /** How much faster unglazed clay loses water. */
  readonly clayFactor: number;
  /** What a grit top leaves of the evaporation. */
  readonly gritTopFactor: number;
  readonly covers: readonly Cover[];
  readonly cloths: readonly Cloth[];
  /** By file, then by key: each file has sources of its own, and the same key may say something else in another. */
  readonly sources: Readonly<Record<CatalogueFile, Readonly<Record<string, SourceEntry>>>>;
}

export type CatalogueResult =
  | { readonly ok: true; readonly catalogue: Catalogue }
  | { readonly ok: false; readonly problems: readonly Problem[] };

/**
 * Reads the parsed files of the catalogue (name without extension -> content). Everything that is wrong is listed at
 * once; nothing is half accepted.
 */
export function parseCatalogue(raw: Readonly<Partial<Record<CatalogueFile, unknown>>>): CatalogueResult {
  const problems: Problem[] = [];
  const parsed: Record<string, unknown> = {};
  for (const file of CATALOGUE_FILES) {
    if (raw[file] === undefined) {
      problems.push({
        path: file,
        expected: `the file ${file}.yaml`,
        got: 'nothing',
        mend: `Put ${file}.yaml beside the other catalogue files.`,
      });
      continue;
    }
    const content = file === 'species-groups' ? withBasedOn(raw[file], problems) : raw[file];
    const result = filesSchema[file].safeParse(content);
    if (result.success) parsed[file] = result.data;
    else problems.push(...result.error.issues.map((issue) => problemOf(file, issue, content)));
  }
  if (problems.length > 0) return { ok: false, problems };

  const species = parsed['species-groups'] as z.infer<(typeof filesSchema)['species-groups']>;
  const mixes = parsed.mixes as z.infer<(typeof filesSchema)['mixes']>;
  const pots = parsed.pots as z.infer<(typeof filesSchema)['pots']>;
  const covers = parsed.covers as z.infer<(typeof filesSchema)['covers']>;
  const cloths = parsed.cloths as z.infer<(typeof filesSchema)['cloths']>;
  for (const [file, content] of Object.entries(parsed)) checkSourceKeys(file, content, problems);
  checkUnique('species-groups.groups', species.groups, problems);
  checkUnique('mixes.mixes', mixes.mixes, problems);
  checkUnique('pots.pots', pots.pots, problems);
  checkUnique('covers.covers', covers.covers, problems);
  checkUnique('cloths.cloths', cloths.cloths, problems);
  for (const [index, group] of species.groups.entries()) checkGroup(`species-groups.groups[${index}]`, group, problems);
  for (const [index, mix] of mixes.mixes.entries()) checkMix(`mixes.mixes[${index}]`, mix, problems);
  if (problems.length > 0) return { ok: false, problems };

  return {
    ok: true,
    catalogue: {
      general: species.general,
      speciesGroups: species.groups,
      mixes: mixes.mixes,
      mineralDepthFactors: [...mixes.depthFactors.mineral].sort((a, b) => a.depthCm - b.depthCm),
      pots: pots.pots,
      clayFactor: pots.clayFactor.value,
      gritTopFactor: pots.gritTopFactor.value,
      covers: covers.covers,
      cloths: cloths.cloths,
      sources: {
        'species-groups': species.sources,
        mixes: mixes.sources,
        pots: pots.sources,
        covers: covers.sources,
        cloths: cloths.sources,
      },
    },
  };
}

/** The entry of that id, or an error that names the ids there are. */
export function catalogueEntry<T extends { readonly id: string }>(kind: string, entries: readonly T[], id: string): T {
  const found = entries.find((entry) => entry.id === id);
  if (found) return found;
  throw new LeafturnError('not-found', `There is no ${kind} called ${id} in the catalogue.`, [
    { path: kind, expected: `one of ${entries.map((entry) => entry.id).join(', ')}`, got: id },
  ]);
}

/**
 * A grower's own group may say `basedOn: conophytum` and give only the sections that differ; each section given
 * replaces the whole section of the group it is based on.
 */
function withBasedOn(content: unknown, problems: Problem[]): unknown {
  if (!isRecord(content) || !Array.isArray(content.groups)) return content;
  const groups: unknown[] = content.groups;
  return {
    ...content,
    groups: groups.map((group, index) => {
      if (!isRecord(group) || group.basedOn === undefined) return group;
      const { basedOn, ...own } = group;
      const base = groups.find((other) => isRecord(other) && other.id === basedOn && other.basedOn === undefined);
      if (isRecord(base)) return { ...base, ...own };
      problems.push({
        path: `species-groups.groups[${index}].basedOn`,
        expected: 'the id of a group that is written out in full',
        got: describe(basedOn),
      });
      return own;
    }),
  };
}

function checkSourceKeys(file: string, content: unknown, problems: Problem[]): void {
  const known = isRecord(content) && isRecord(content.sources) ? Object.keys(content.sources) : [];
  const visit = (value: unknown, path: string): void => {
    if (Array.isArray(value)) {
      for (const [index, item] of value.entries()) visit(item, `${path}[${index}]`);
    } else if (isRecord(value)) {
      for (const [key, item] of Object.entries(value)) {
        if (key !== 'source') visit(item, `${path}.${key}`);
        else {
          for (const unknownKey of (item as string[]).filter((name) => !known.includes(name))) {
            problems.push({
              path: `${path}.source`,
              expected: `keys of \`sources\` in the same file (${known.join(', ')})`,
              got: unknownKey,
              mend: 'Add it to `sources`, or name a known one.',
            });
          }
        }
      }
    }
  };
  visit(content, file);
}

function checkUnique(path: string, entries: readonly { readonly id: string }[], problems: Problem[]): void {
  entries.forEach((entry, index) => {
    if (entries.findIndex((other) => other.id === entry.id) !== index)
      problems.push({ path: `${path}[${index}].id`, expected: 'an id used once', got: entry.id });
  });
}

function checkGroup(path: string, group: SpeciesGroup, problems: Problem[]): void {
  const steps = group.cycle.steps;
  const middle = (step: CycleStep): number => {
    const [from, to] = step.begins;
    return from + ((to - from + 360) % 360) / 2;
  };
  let turned = 0;
  steps.forEach((step, index) => {
    const next = steps[(index + 1) % steps.length] as CycleStep;
    turned += (((middle(next) - middle(step)) % 360) + 360) % 360;
    if (step.phase === 'leaf-replacement' && step.stage === undefined)
      problems.push({
        path: `${path}.cycle.steps[${index}].stage`,
        expected: `a stage of leaf replacement (${STAGES.join(', ')})`,
        got: 'nothing',
      });
    if (step.phase !== 'leaf-replacement' && step.stage !== undefined)
      problems.push({
        path: `${path}.cycle.steps[${index}].stage`,
        expected: `no stage with the phase ${step.phase}`,
        got: step.stage,
      });
    const chance = step.chance;
    if (chance && [chance.driver, chance.at, chance.share].filter((part) => part !== undefined).length % 3 !== 0)
      problems.push({
        path: `${path}.cycle.steps[${index}].chance`,
        expected: '`driver`, `at` and `share` together, or none of them',
        got: Object.keys(chance).join(', '),
      });
  });
  // A grower may enter any phase, so a plant must never stand in one that has no policy.
  const stages = group.leafChange === 'pair' || steps.some((step) => step.stage) ? STAGES : [];
  for (const needed of WATER_PHASES) {
    const isStage = (STAGES as readonly string[]).includes(needed);
    if (!(needed in group.water.phases) && (!isStage || (stages as readonly string[]).includes(needed)))
      problems.push({
        path: `${path}.water.phases.${needed}`,
        expected: 'a water policy (note, options, atMost)',
        got: 'nothing',
      });
  }
  if (Math.abs(turned - 360) > 0.5)
    problems.push({
      path: `${path}.cycle.steps`,
      expected: 'steps in the order they begin, once round the year',
      got: `an order that goes round ${Math.round(turned / 360)} times`,
      mend: 'Sort the steps by the middle of their `begins` window, starting anywhere.',
    });
  if (steps.every((step) => step.chance !== undefined))
    problems.push({ path: `${path}.cycle.steps`, expected: 'at least one step every plant goes through', got: 'none' });
  group.light.shadeWhen.forEach((trigger, index) => {
    if ((trigger.when === 'day-max-above' || trigger.when === 'peak-ppfd-above') && trigger.limit === undefined)
      problems.push({ path: `${path}.light.shadeWhen[${index}].limit`, expected: 'a number', got: 'nothing' });
  });
}

function checkMix(path: string, mix: Mix, problems: Problem[]): void {
  if (mix.thetaLowerLimit >= mix.thetaContainerCapacity)
    problems.push({
      path: `${path}.thetaLowerLimit`,
      expected: `less than thetaContainerCapacity (${mix.thetaContainerCapacity})`,
      got: String(mix.thetaLowerLimit),
    });
}

const isRecord = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

function problemOf(file: string, issue: z.core.$ZodIssue, content: unknown): Problem {
  const path = issue.path.reduce<string>(
    (text, key) => (typeof key === 'number' ? `${text}[${key}]` : `${text}.${String(key)}`),
    file,
  );
  const got = issue.path.reduce<unknown>(
    (value, key) =>
      typeof value === 'object' && value !== null ? (value as Record<PropertyKey, unknown>)[key] : undefined,
    content,
  );
  if (issue.code === 'unrecognized_keys')
    return {
      path,
      expected: 'only known keys',
      got: issue.keys.join(', '),
      mend: 'Correct the spelling or take it out.',
    };
  return { path, expected: issue.message.replace(/^Invalid \w+: expected /, ''), got: describe(got) };
}

function describe(value: unknown): string {
  if (value === undefined) return 'nothing';
  const text = JSON.stringify(value) ?? String(value);
  return text.length > 80 ? `${text.slice(0, 77)}...` : text;
}
