import { join } from 'node:path';
import { CATALOGUE_FILES, type Catalogue, type CatalogueFile, parseCatalogue } from '../../domain/catalogue.js';
import { LeafturnError, type Problem } from '../../domain/errors.js';
import { readYamlFile, type YamlFile } from './yaml-file.js';

/**
 * The species catalogue of a folder.
 * @throws LeafturnError with everything that is wrong in all its files
 */
export function loadCatalogue(folder: string): Catalogue {
  const files = new Map<CatalogueFile, YamlFile>();
  const problems: Problem[] = [];
  for (const name of CATALOGUE_FILES) {
    try {
      files.set(name, readYamlFile(join(folder, `${name}.yaml`), 'The catalogue file'));
    } catch (error) {
      if (!(error instanceof LeafturnError)) throw error;
      problems.push(...error.problems);
    }
  }
  const result = parseCatalogue(Object.fromEntries([...files].map(([name, file]) => [name, file.content])));
  if (result.ok && problems.length === 0) return result.catalogue;
  if (!result.ok) {
    for (const problem of result.problems) {
      const name = problem.path.split(/[.[]/, 1)[0] ?? '';
      const file = files.get(name as CatalogueFile);
      // A file that could not be read has been named already.
      if (file) problems.push(file.located({ ...problem, path: problem.path.slice(name.length).replace(/^\./, '') }));
    }
  }
  throw new LeafturnError('invalid-input', `The species catalogue in ${folder} cannot be used.`, problems);
}
