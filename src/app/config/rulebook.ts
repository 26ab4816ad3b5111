import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { LeafturnError } from '../../domain/errors.js';
import { parseRulebook, type Rulebook } from '../../rules/rulebook.js';
import { readYamlFile } from './yaml-file.js';

/**
 * The rulebook of a folder: the one YAML file in it.
 * @throws LeafturnError with everything that is wrong
 */
export function loadRulebook(folder: string): Rulebook {
  return loadRulebookFile(join(folder, rulebookName(folder)));
}

/** @throws LeafturnError with everything that is wrong, with lines */
export function loadRulebookFile(path: string): Rulebook {
  const file = readYamlFile(path, 'The rulebook');
  const result = parseRulebook(file.content);
  if (result.ok) return result.rulebook;
  throw new LeafturnError('invalid-input', `The rulebook ${path} cannot be used.`, result.problems.map(file.located));
}

function rulebookName(folder: string): string {
  let names: string[];
  try {
    names = readdirSync(folder).filter((name) => /\.ya?ml$/.test(name));
  } catch (error) {
    throw new LeafturnError(
      'file-failed',
      `The rulebook folder ${folder} cannot be read.`,
      [{ path: 'rulebook.directory', expected: 'a folder with one rulebook', got: folder }],
      { cause: error },
    );
  }
  if (names.length === 1) return names[0] as string;
  throw new LeafturnError('invalid-input', `The rulebook folder ${folder} must hold one rulebook.`, [
    {
      path: 'rulebook.directory',
      expected: 'a folder with one YAML file',
      got: names.length === 0 ? 'none' : names.join(', '),
      mend: 'Leave only the rulebook that is to be used.',
    },
  ]);
}
