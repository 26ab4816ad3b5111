import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import type { WhatIfContext } from '../../src/advice/what-if.js';
import { readCases } from '../../src/app/commands/rules.js';
import { loadCatalogue } from '../../src/app/config/catalogue.js';
import { PACKAGE_CONFIG, PACKAGE_ROOT } from '../../src/app/config/paths.js';
import { loadRulebook } from '../../src/app/config/rulebook.js';
import { catalogueEntry, type SpeciesGroup } from '../../src/domain/catalogue.js';
import type { Fact, Facts, FactValue } from '../../src/domain/verdict.js';

/** The catalogue and the rulebook that come with the service, read once. */
export const catalogue = loadCatalogue(join(PACKAGE_CONFIG, 'catalogue'));
export const rulebook = loadRulebook(join(PACKAGE_CONFIG, 'rulebook'));
export const context: WhatIfContext = { catalogue, rulebook };
export const groupOf = (id: string): SpeciesGroup => catalogueEntry('species group', catalogue.speciesGroups, id);

const CASES = join(PACKAGE_ROOT, 'tests', 'rulebooks', 'cases');

/** Every decision case of the project with the file it stands in. */
export const ownCases = readdirSync(CASES)
  .filter((name) => name.endsWith('.yaml'))
  .sort()
  .flatMap((file) => readCases(join(CASES, file)).map((one) => ({ file, ...one })));

export const fact = (value: FactValue | null): Fact => ({
  value,
  certainty: value === null ? 'unknown' : 'known',
  from: 'test',
});
export const facts = (values: Readonly<Record<string, FactValue | null>>): Facts =>
  Object.fromEntries(Object.entries(values).map(([name, value]) => [name, fact(value)]));
