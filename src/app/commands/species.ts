import { resolve } from 'node:path';
import { loadCatalogue } from '../config/catalogue.js';
import { PACKAGE_CONFIG } from '../config/paths.js';
import { EXIT } from './exit-codes.js';
import { type CommandIo, print } from './io.js';

/** `leafturn species check [FOLDER]`: a catalogue with everything that is wrong with it, or what it holds. */
export async function checkSpecies(folder: string | undefined, io: CommandIo): Promise<number> {
  const path = folder === undefined ? resolve(PACKAGE_CONFIG, 'catalogue') : resolve(io.workingFolder, folder);
  const catalogue = loadCatalogue(path);
  for (const group of catalogue.speciesGroups) print(io, `${group.id}\t${group.name}`);
  print(
    io,
    `${path}: ${catalogue.speciesGroups.length} species groups, ${catalogue.mixes.length} mixes, ${catalogue.pots.length} pots, ${catalogue.covers.length} covers, ${catalogue.cloths.length} cloths. No mistakes.`,
  );
  return EXIT.ok;
}
