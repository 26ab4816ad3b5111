import { EventEmitter } from 'node:events';
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { PACKAGE_CONFIG } from '../../src/app/config/paths.js';
import { type Config, loadConfig, watchConfig } from '../../src/config.js';
import { LeafturnError, type Problem, problemLine } from '../../src/domain/errors.js';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'leafturn-config-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const GOOD = `
sites:
  - id: home
    name: Home
    latitude: 48.5
    longitude: 9.5
    zone: Europe/Berlin
    houses:
      - id: north-house
        name: North house
        cover: single-glass
        cloths:
          - { id: white-30, name: White 30 %, shadePct: 30 }
        lines:
          - { id: left, name: Left line }
sensors:
  - id: climate
    topic: glass/+/climate
    format: json
    site: home
    house: "{1}"
    sensor: "{1}-climate"
    fields:
      - { pointer: /t, quantity: airTempC, unit: "°C" }
`;

function site(text: string): string {
  const file = join(folder, 'site.yaml');
  writeFileSync(file, text);
  return file;
}
const load = (text: string, env: Record<string, string> = {}): Config =>
  loadConfig(site(text), { env, workingFolder: folder });

function problemsOf(text: string, env: Record<string, string> = {}): readonly Problem[] {
  try {
    load(text, env);
  } catch (error) {
    if (error instanceof LeafturnError) return error.problems;
    throw error;
  }
  throw new Error('The file was accepted.');
}
const linesOf = (text: string): string[] => problemsOf(text).map((problem) => problemLine(problem));
/** The line of the text on which a piece stands, as people count. */
const lineOf = (text: string, piece: string): number => text.slice(0, text.indexOf(piece)).split('\n').length;

describe('a site file without mistakes', () => {
  it('takes the documented defaults for what is left out', () => {
    const config = load(GOOD);
    expect(config.server).toEqual({ host: '127.0.0.1', port: 8080 });
    expect(config.broker).toMatchObject({ kind: 'embedded', host: '127.0.0.1', port: 1883, users: [] });
    expect(config.sites[0]).toMatchObject({ roundAt: '05:00', elevationM: 0 });
    expect(config.storage.retention.readingsDays).toBe(120);
    expect(config.warnings).toEqual([]);
  });

  it('puts the database into the data folder, which is `data` unless the environment says otherwise', () => {
    expect(load(GOOD).storage.path).toBe(join(folder, 'data', 'leafturn.sqlite'));
    expect(load(GOOD, { LEAFTURN_DATA: '/srv/glass' }).storage.path).toBe('/srv/glass/leafturn.sqlite');
    const withBackup = load(`${GOOD}storage: { path: /elsewhere/a.sqlite, backup: {} }\n`, { LEAFTURN_DATA: 'kept' });
    expect(withBackup.storage.path).toBe('/elsewhere/a.sqlite');
    expect(withBackup.storage.backup).toEqual({ directory: join(folder, 'kept', 'backups'), everyHours: 24, keep: 14 });
  });

  it('brings the catalogue and the rulebook that come with the service', () => {
    const config = load(GOOD);
    expect(config.catalogue.speciesGroups).toHaveLength(17);
    expect(config.rulebook.name).not.toBe('');
    expect(config.catalogueFolder).toBe(join(PACKAGE_CONFIG, 'catalogue'));
  });

  it.each(['demo.yaml', 'site.example.yaml'])('%s has no mistakes', (name) => {
    const config = loadConfig(join(PACKAGE_CONFIG, name), { env: {}, workingFolder: folder });
    expect(config.warnings).toEqual([]);
  });

  it('the example names every setting of the file form', () => {
    const text = readFileSync(join(PACKAGE_CONFIG, 'site.example.yaml'), 'utf8');
    for (const key of ['sites', 'sensors', 'broker', 'storage', 'server', 'access', 'round', 'notifications', 'log'])
      expect(text, key).toMatch(new RegExp(`^${key}:`, 'm'));
    for (const key of [
      'readingsDays',
      'hourlyDays',
      'refusalsKept',
      'idempotencyHours',
      'roundRevisionsDays',
      'forecastsDays',
    ])
      expect(text, key).toContain(`${key}:`);
    for (const key of ['pulled', 'kind', 'address', 'contact', 'keyFile', 'sites', 'minutes', 'pushed', 'topic'])
      expect(text, key).toMatch(new RegExp(`^# .*\\b${key}:`, 'm'));
    for (const key of ['catalogue', 'rulebook']) expect(text, key).toContain(`# ${key}: {`);
  });
});

describe('mistakes', () => {
  it('are told all at once, whatever part of the file they are in', () => {
    const text = GOOD.replace('name: Home', 'nmae: Home')
      .replace('cover: single-glass', 'cover: singel-glass')
      .replace('site: home', 'site: hoem')
      .replace('shadePct: 30', 'shadePct: 300')
      .concat('server: { port: 99999 }\n');
    const lines = linesOf(text).join('\n');
    expect(lines).toContain('sites[0].nmae');
    expect(lines).toContain('sites[0].houses[0].cloths[0].shadePct');
    expect(lines).toContain('server.port');
    // Cross checks of a section wait until the section itself can be read.
    const rest = linesOf(
      GOOD.replace('site: home', 'site: hoem').replace('cover: single-glass', 'cover: singel-glass'),
    );
    expect(rest).toHaveLength(2);
    expect(rest.join('\n')).toContain('Did you mean single-glass?');
    expect(rest.join('\n')).toContain('Did you mean home?');
  });

  it('carry file, line, what was expected, what came, and how to mend', () => {
    const text = GOOD.replace('zone: Europe/Berlin', 'zone: Europe/Berlim');
    const [problem] = problemsOf(text);
    expect(problem?.path).toBe(`${join(folder, 'site.yaml')}:${lineOf(text, 'zone:')}: sites[0].zone`);
    expect(problem?.expected).toBe('a time zone name such as Europe/Berlin');
    expect(problem?.got).toBe('"Europe/Berlim"');
  });

  it('an unknown key is an error with the nearest known one, on its own line', () => {
    const text = GOOD.replace('    zone:', '    roundat: "06:00"\n    zone:');
    const [problem] = problemsOf(text);
    expect(problem?.path).toContain(`:${lineOf(text, 'roundat')}: sites[0].roundat`);
    expect(problem?.mend).toBe('Did you mean roundAt?');
  });

  it('an unknown key hides nothing else in its section', () => {
    const lines = linesOf(
      GOOD.replace('    zone:', '    roundat: "06:00"\n    zone:').replace('cover: single-glass', 'cover: glas'),
    );
    expect(lines).toHaveLength(2);
  });

  it('a key of another kind of broker is named as unknown, with the keys of the kind chosen', () => {
    const [problem] = problemsOf(`${GOOD}broker: { kind: external, url: "mqtt://a", users: [] }\n`);
    expect(problem?.path).toContain('broker.users');
    expect(problem?.expected).toContain('sessionExpiryDays');
    expect(problem?.expected).not.toContain('maxClients');
  });

  it('a wrong word names the allowed ones', () => {
    const [problem] = problemsOf(`${GOOD}broker: { kind: embeded }\n`);
    expect(problem).toMatchObject({ expected: 'one of embedded, external', mend: 'Did you mean embedded?' });
  });

  it('what is missing is asked for where it belongs', () => {
    const text = GOOD.replace('    latitude: 48.5\n', '');
    const [problem] = problemsOf(text);
    expect(problem?.path).toContain('sites[0].latitude');
    expect(problem?.got).toBe('nothing');
  });

  it.each([
    [
      'two sites',
      GOOD.replace('sensors:', `${GOOD.slice(GOOD.indexOf('  - id'), GOOD.indexOf('sensors:'))}sensors:`),
      'sites[1].id',
    ],
    ['two mappings', `${GOOD}${GOOD.slice(GOOD.indexOf('  - id: climate'))}`, 'sensors[1].id'],
    [
      'two cloths of a house',
      GOOD.replace('        lines:', '          - { id: white-30, name: B, shadePct: 50 }\n        lines:'),
      'cloths[1].id',
    ],
    [
      'two lines of a site',
      GOOD.replace('Left line }', 'Left line }\n          - { id: left, name: Other }'),
      'lines[1].id',
    ],
  ])('the same id for %s', (_what, text, place) => {
    const lines = linesOf(text);
    expect(lines).toHaveLength(1);
    expect(lines[0]).toContain(place);
  });

  it('a mapping to a house the site does not have', () => {
    const [line] = linesOf(GOOD.replace('house: "{1}"', 'house: nort-house'));
    expect(line).toContain('Did you mean north-house?');
  });

  it('a broker open to other machines wants users', () => {
    const lines = linesOf(`${GOOD}broker: { kind: embedded, host: 0.0.0.0 }\n`);
    expect(lines[0]).toContain('broker.users');
  });

  it('YAML that is not well-formed is told with its line', () => {
    const [problem] = problemsOf('sites:\n  - id: "home\n    name: x\n');
    expect(problem?.path).toMatch(/site\.yaml:\d+$/);
    expect(problem?.expected).toBe('well-formed YAML');
  });

  it('the same key twice is a mistake, not a choice', () => {
    expect(problemsOf(`${GOOD}server: { port: 1 }\nserver: { port: 2 }\n`)[0]?.got).toMatch(/unique/i);
  });

  it.each([
    ['a file that is not there', () => loadConfig(join(folder, 'none.yaml'), { env: {} }), 'no such file'],
    ['a folder', () => loadConfig(folder, { env: {} }), 'a folder'],
    [
      'a file that is not text',
      () => {
        const file = join(folder, 'site.yaml');
        writeFileSync(file, Buffer.from([0xff, 0xfe, 0x00, 0x81]));
        return loadConfig(file, { env: {} });
      },
      'bytes that are not text in UTF-8',
    ],
  ])('%s', (_what, act, got) => {
    expect(act).toThrow(LeafturnError);
    try {
      act();
    } catch (error) {
      expect((error as LeafturnError).problems[0]?.got).toContain(got);
    }
  });

  it('topics that meet are pointed out but allowed', () => {
    const narrow = GOOD.slice(GOOD.indexOf('  - id: climate'))
      .replace('id: climate', 'id: one')
      .replace('glass/+/climate', 'glass/north-house/climate')
      .replaceAll('{1}', 'north-house');
    const [warning] = load(`${GOOD}${narrow}`).warnings;
    expect(warning?.got).toContain('one never gets a message');
    expect(warning?.path).toMatch(/site\.yaml:\d+: sensors\[1\]\.topic/);
  });
});

describe('secrets', () => {
  const EXTERNAL = `${GOOD}broker: { kind: external, url: "mqtt://127.0.0.1", username: glass, passwordFile: secret }\n`;

  it('come from a file beside the site file, without the line end', () => {
    writeFileSync(join(folder, 'secret'), 'open sesame\n');
    const { broker } = load(EXTERNAL);
    expect(broker).toMatchObject({ kind: 'external', password: 'open sesame' });
    expect(JSON.stringify(broker)).not.toContain('passwordFile');
  });

  it('of the environment go before those of the file', () => {
    writeFileSync(join(folder, 'secret'), 'from the file');
    writeFileSync(join(folder, 'other'), 'from the environment');
    const { broker } = load(EXTERNAL, { LEAFTURN_MQTT_PASSWORD_FILE: join(folder, 'other') });
    expect(broker).toMatchObject({ password: 'from the environment' });
  });

  it('that cannot be read are told with the line that names them', () => {
    const [problem] = problemsOf(EXTERNAL);
    expect(problem?.path).toContain(`:${lineOf(EXTERNAL, 'broker:')}: broker.passwordFile`);
  });
});

describe('a catalogue of one’s own', () => {
  const own = (): string => {
    mkdirSync(join(folder, 'mine'));
    cpSync(join(PACKAGE_CONFIG, 'catalogue'), join(folder, 'mine'), { recursive: true });
    return join(folder, 'mine', 'covers.yaml');
  };

  it('is read from the folder of the site file', () => {
    own();
    expect(load(`${GOOD}catalogue: { directory: mine }\n`).catalogueFolder).toBe(join(folder, 'mine'));
  });

  it('has its mistakes told with file and line, beside those of the site file', () => {
    const covers = own();
    const text = readFileSync(covers, 'utf8').replace('wetMarginC:', 'wetMargnC:');
    writeFileSync(covers, text);
    const lines = problemsOf(`${GOOD.replace('48.5', '480.5')}catalogue: { directory: mine }\n`).map(
      ({ path }) => path,
    );
    expect(lines).toContainEqual(expect.stringContaining('sites[0].latitude'));
    expect(lines).toContainEqual(expect.stringContaining(`${covers}:`));
  });
});

describe('watching the site file', () => {
  it('takes up a good file at SIGHUP and keeps the last good one when a bad one comes', async () => {
    const signals = new EventEmitter();
    const heard: string[] = [];
    let told: (() => void) | undefined;
    const next = (): Promise<void> =>
      new Promise((resolve) => {
        told = resolve;
        signals.emit('SIGHUP');
      });
    const stop = watchConfig(
      site(GOOD),
      { env: {}, workingFolder: folder },
      {
        onConfig: (config) => {
          heard.push(config.sites[0]?.name ?? '');
          told?.();
        },
        onProblems: (problems) => {
          heard.push(`${problems.length} problems`);
          told?.();
        },
      },
      signals,
    );
    site(GOOD.replace('name: Home', 'name: New home'));
    await next();
    site(GOOD.replace('name: Home', 'name:'));
    await next();
    rmSync(join(folder, 'site.yaml'));
    await next();
    expect(heard).toEqual(['New home', '1 problems', '1 problems']);
    stop();
    expect(signals.listenerCount('SIGHUP')).toBe(0);
  });
});
