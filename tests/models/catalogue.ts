import { readFileSync } from 'node:fs';
import { parse } from 'yaml';
import {
  CATALOGUE_FILES,
  type Catalogue,
  catalogueEntry,
  parseCatalogue,
  type SpeciesGroup,
} from '../../src/domain/catalogue.js';
import type { PotSetup } from '../../src/models/pot-water.js';

/** The shipped catalogue. */
export const catalogue: Catalogue = (() => {
  const result = parseCatalogue(
    Object.fromEntries(
      CATALOGUE_FILES.map((file) => [
        file,
        parse(readFileSync(new URL(`../../config/catalogue/${file}.yaml`, import.meta.url), 'utf8')),
      ]),
    ),
  );
  if (!result.ok) throw new Error(JSON.stringify(result.problems));
  return result.catalogue;
})();

export const group = (id: string): SpeciesGroup => catalogueEntry('species group', catalogue.speciesGroups, id);

/** The pot that is meant when nothing is said: 7 cm square plastic, grit-topped 80:20 mineral mix. */
export const usualPot = (change: Partial<PotSetup> = {}): PotSetup => ({
  mix: catalogueEntry('mix', catalogue.mixes, 'mineral-80-20'),
  pot: catalogueEntry('pot', catalogue.pots, 'square-7cm-plastic'),
  topDressing: 'grit',
  coverFraction: 0.3,
  clayFactor: catalogue.clayFactor,
  gritTopFactor: catalogue.gritTopFactor,
  mineralDepthFactors: catalogue.mineralDepthFactors,
  lightDrinkMm: catalogue.general.lightDrinkMm,
  dryAtDepletion: catalogue.general.dryAtDepletion,
  ...change,
});
