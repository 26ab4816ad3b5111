import type { Config } from '../../config.js';
import { loadConfig } from '../../config.js';
import { LeafturnError, problemLine } from '../../domain/errors.js';
import { didYouMean } from '../../domain/problems.js';
import type { Site } from '../../domain/site.js';
import { DEMO_CONFIG, findConfigFile, USUAL_PLACES } from '../config/paths.js';
import { EXIT } from './exit-codes.js';
import { type CommandIo, complain, print } from './io.js';

/**
 * The configuration a command works on: as with `start`, the demo's where there is no site file.
 * @throws LeafturnError when it has mistakes
 */
export const configFor = (given: string | undefined, io: CommandIo): Config =>
  loadConfig(findConfigFile(given, io.env, io.workingFolder) ?? DEMO_CONFIG, {
    env: io.env,
    workingFolder: io.workingFolder,
  });

function siteConfig(given: string | undefined, io: CommandIo): Config {
  const file = findConfigFile(given, io.env, io.workingFolder);
  if (file === undefined)
    throw new LeafturnError('file-failed', 'There is no site file.', [
      {
        path: '--config',
        expected: `the site file, or one of ${USUAL_PLACES.join(', ')}`,
        got: 'nothing',
        mend: 'Copy config/site.example.yaml and change it, or run `leafturn demo`.',
      },
    ]);
  return loadConfig(file, { env: io.env, workingFolder: io.workingFolder });
}

/** The sites a command works on: all of them, or the one named. */
export function chosenSites(config: Config, siteId: string | undefined): readonly Site[] {
  if (siteId === undefined) return config.sites;
  const site = config.sites.find(({ id }) => id === siteId);
  if (site) return [site];
  const known = config.sites.map(({ id }) => id);
  const mend = didYouMean(siteId, known);
  throw new LeafturnError('not-found', `There is no site ${siteId}.`, [
    { path: '--site', expected: `one of ${known.join(', ')}`, got: siteId, ...(mend && { mend }) },
  ]);
}

/** `leafturn check-config`: everything that is wrong, or a summary of what the service would run with. */
export async function checkConfig(options: { config?: string }, io: CommandIo): Promise<number> {
  const config = siteConfig(options.config, io);
  for (const site of config.sites) {
    const lines = site.houses.reduce((sum, house) => sum + house.lines.length, 0);
    print(
      io,
      `${site.name} (${site.id}): ${count(site.houses.length, 'house')}, ${count(lines, 'watering line')}, list at ${site.roundAt} ${site.zone}`,
    );
  }
  const { broker } = config;
  print(io, `Sensors: ${count(config.sensors.length, 'mapping')}`);
  print(io, `Broker: ${broker.kind === 'embedded' ? `inside the service, ${broker.host}:${broker.port}` : broker.url}`);
  for (const { name, kind, address, sites, minutes } of config.forecast.pulled)
    print(
      io,
      `Forecast: ${name} (${kind}) from ${new URL(address.replace(/\{\w+\}/g, '1')).host} for ${sites?.join(', ') ?? 'every site'}, at most every ${minutes} minutes`,
    );
  if (config.forecast.pushedTopic !== undefined) print(io, `Forecasts handed over on ${config.forecast.pushedTopic}`);
  print(io, `Database: ${config.storage.path}`);
  print(io, `Pages and API: http://${config.server.host}:${config.server.port}`);
  print(
    io,
    `Catalogue: ${count(config.catalogue.speciesGroups.length, 'species group')} from ${config.catalogueFolder}`,
  );
  print(io, `Rulebook: ${config.rulebook.name}, revision ${config.rulebook.revision}, from ${config.rulebookFolder}`);
  for (const warning of config.warnings) complain(io, `Note: ${problemLine(warning)}`);
  print(io, `${config.file}: no mistakes.`);
  return EXIT.ok;
}

const count = (number: number, word: string): string => `${number} ${word}${number === 1 ? '' : 's'}`;
