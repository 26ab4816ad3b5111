import type { Catalogue } from '../../domain/catalogue.js';
import type { Problem } from '../../domain/errors.js';
import { isLoopback } from '../../domain/hosts.js';
import { findOverlaps, namedPlaces } from '../../domain/mapping.js';
import type { Site } from '../../domain/site.js';
import { unknownId, usedOnce } from './checks.js';
import { forecastProblems, forecastWarnings } from './forecast.js';
import { notificationProblems } from './notifications.js';
import type { ConfigFile } from './schema.js';

/** What the parts of a site file say of each other, as far as they could be read. Lists everything it finds. */
export function crossChecks(file: Partial<ConfigFile>, catalogue: Catalogue | undefined): Problem[] {
  const { sites, sensors, broker, access, forecast, notifications } = file;
  return [
    ...(sites ? usedOnce('sites', sites, 'site') : []),
    ...(sites ?? []).flatMap((site, index) => siteProblems(site, `sites[${index}]`, catalogue)),
    ...(sensors ? usedOnce('sensors', sensors, 'sensor mapping') : []),
    ...(sites ? (sensors ?? []).flatMap((mapping, index) => mappingProblems(mapping, `sensors[${index}]`, sites)) : []),
    ...(broker ? brokerProblems(broker) : []),
    ...(access ? tokenProblems(access) : []),
    ...(sites && forecast ? forecastProblems(forecast, sites) : []),
    ...(sites && notifications ? notificationProblems(notifications, sites) : []),
  ];
}

function siteProblems(site: Site, path: string, catalogue: Catalogue | undefined): Problem[] {
  const lineHomes = new Map<string, string>();
  return [
    ...usedOnce(`${path}.houses`, site.houses, 'house of the site'),
    ...site.houses.flatMap((house, index) => {
      const at = `${path}.houses[${index}]`;
      const covers = catalogue?.covers.map((cover) => cover.id);
      const problems = usedOnce(`${at}.cloths`, house.cloths, 'cloth of the house');
      if (covers && !covers.includes(house.cover))
        problems.push(unknownId(`${at}.cover`, 'a cover of the catalogue', house.cover, covers));
      house.lines.forEach((line, lineIndex) => {
        const home = lineHomes.get(line.id);
        // Waterings name the line alone, so its id must be clear without the house.
        if (home !== undefined)
          problems.push({
            path: `${at}.lines[${lineIndex}].id`,
            expected: 'an id that no other watering line of the site has',
            got: `${line.id}, as in ${home}`,
            mend: `Put the house in front, e.g. ${house.id}-${line.id}.`,
          });
        else lineHomes.set(line.id, `${at}.lines[${lineIndex}]`);
      });
      return problems;
    }),
  ];
}

function mappingProblems(mapping: ConfigFile['sensors'][number], path: string, sites: readonly Site[]): Problem[] {
  const site = sites.find((candidate) => candidate.id === mapping.site);
  if (!site)
    return [
      unknownId(
        `${path}.site`,
        'a site of this file',
        mapping.site,
        sites.map((candidate) => candidate.id),
      ),
    ];
  const known = site.houses.map((house) => house.id);
  return namedPlaces(mapping)
    .houses.filter((house) => !known.includes(house))
    .map((house) => unknownId(`${path}.house`, `a house of the site ${site.id}`, house, known));
}

/** What is allowed but hardly meant. */
export function crossWarnings(file: ConfigFile): Problem[] {
  return [...sensorWarnings(file), ...forecastWarnings(file.forecast, file.sensors)];
}

function sensorWarnings(file: ConfigFile): Problem[] {
  return findOverlaps(file.sensors).map((overlap) => {
    const index = file.sensors.findIndex((mapping) => mapping.id === overlap.secondId);
    return {
      path: `sensors[${index}].topic`,
      expected: `topics that ${overlap.firstId}, which stands before it, does not take`,
      got: overlap.hidden
        ? `only topics that ${overlap.firstId} takes, such as ${overlap.example}: ${overlap.secondId} never gets a message`
        : `some that both take, such as ${overlap.example}: ${overlap.firstId} gets them`,
      mend: `Put ${overlap.secondId} first if it is the narrower one, or make one of the topics narrower.`,
    };
  });
}

function brokerProblems(broker: ConfigFile['broker']): Problem[] {
  if (broker.kind === 'external') {
    return broker.passwordFile !== undefined && broker.username === undefined
      ? [
          {
            path: 'broker.username',
            expected: 'the user the password belongs to',
            got: 'nothing',
            mend: 'Add this line.',
          },
        ]
      : [];
  }
  const problems: Problem[] = [];
  if (!isLoopback(broker.host) && broker.users.length === 0)
    problems.push({
      path: 'broker.users',
      expected: `at least one user, because ${broker.host} can be reached from other machines`,
      got: 'none',
      mend: 'Make one with `leafturn token broker-user NAME`, or set broker.host to 127.0.0.1.',
    });
  const names = broker.users.map((user) => user.name);
  names.forEach((name, index) => {
    if (names.indexOf(name) !== index)
      problems.push({ path: `broker.users[${index}].name`, expected: 'a name used once', got: name });
  });
  return problems;
}

function tokenProblems(access: ConfigFile['access']): Problem[] {
  const names = access.tokens.map((token) => token.name);
  return names.flatMap((name, index) =>
    names.indexOf(name) === index
      ? []
      : [{ path: `access.tokens[${index}].name`, expected: 'a name used once', got: name }],
  );
}
