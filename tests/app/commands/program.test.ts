import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Command } from 'commander';
import { afterAll, describe, expect, it } from 'vitest';
import { ALL_COMMANDS } from '../../../src/app/commands/all.js';
import { EXIT, EXIT_MEANINGS, exitCodeOf } from '../../../src/app/commands/exit-codes.js';
import { processIo } from '../../../src/app/commands/io.js';
import { packageVersion } from '../../../src/app/commands/program.js';
import { ENVIRONMENT, PACKAGE_CONFIG } from '../../../src/app/config/paths.js';
import { LeafturnError } from '../../../src/domain/errors.js';
import { leafturn } from './support.js';

const folder = mkdtempSync(join(tmpdir(), 'leafturn-program-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const example = join(PACKAGE_CONFIG, 'site.example.yaml');

/** Every command that does something itself, as it is typed. */
function leaves(command: Command, path: readonly string[] = []): string[][] {
  if (command.commands.length === 0) return [[...path]];
  return command.commands.flatMap((child) => leaves(child, [...path, child.name()]));
}
const root = new Command('leafturn');
for (const add of ALL_COMMANDS) add(root, processIo(), async () => {});
const commands = leaves(root);

describe('help', () => {
  it('knows the commands of the manual', () => {
    const names = commands.map((words) => words.join(' '));
    for (const name of [
      'start',
      'demo',
      'check-config',
      'list',
      'feed replay',
      'feed check',
      'rules check',
      'rules test',
      'species check',
      'export readings',
      'export journal',
      'token add',
      'token list',
      'token revoke',
      'backup',
      'bench',
    ])
      expect(names).toContain(name);
  });

  it.each(commands.map((words) => [words.join(' '), words] as const))(
    'of `%s` has examples that begin with it',
    async (name, words) => {
      const { code, out, err } = await leafturn([...words, '--help'], folder);
      expect(code).toBe(EXIT.ok);
      expect(out).toContain('Examples:');
      expect(out).toMatch(new RegExp(`^ {2}\\$ (?:\\w+=\\S+ )?leafturn ${name}`, 'm'));
      expect(err).toBe('');
    },
  );

  it('tells the exit codes and the environment', async () => {
    const { out } = await leafturn(['--help'], folder);
    for (const [code, meaning] of EXIT_MEANINGS) expect(out).toContain(`${code}  ${meaning}`);
    for (const name of Object.keys(ENVIRONMENT)) expect(out).toContain(name);
  });

  it('tells the version of the package', async () => {
    expect((await leafturn(['--version'], folder)).out.trim()).toBe(packageVersion());
  });
});

describe('wrong use', () => {
  it.each([
    ['an unknown command', ['check-confg'], 'Did you mean check-config?'],
    ['an unknown option', ['list', '--sight', 'x'], 'unknown option'],
    ['a missing argument', ['token', 'add'], "missing required argument 'name'"],
    ['a missing required option', ['feed', 'replay', 'x.csv', '--house', 'h'], '--broker'],
    ['a word that is not allowed', ['token', 'add', 'x', '--role', 'boss'], 'Allowed choices are read, staff, owner'],
    ['a number out of bounds', ['start', '--port', '70000'], 'from 0 to 65535'],
    ['text for a number', ['token', 'revoke', 'first'], 'Expected a whole number'],
    ['nothing for a number', ['demo', '--speed', ''], 'Expected a number'],
  ])('%s ends with 2 and says what is wrong', async (_what, argv, said) => {
    const { code, err } = await leafturn(argv, folder);
    expect(code).toBe(EXIT.badUsage);
    expect(err).toContain(said);
  });

  it.each([
    ['a folder without a site file', ['check-config'], 'There is no site file.'],
    ['a site file that is not there', ['list', '-c', 'none.yaml'], 'no such file'],
    ['a day that is none', ['list', '-c', example, '--day', '2026-02-30'], 'a date such as'],
    ['an unknown site', ['list', '-c', example, '--site', 'hoem'], 'Did you mean home?'],
    ['an unknown site in an export', ['export', 'journal', '-c', example, '--site', 'x'], 'one of home'],
    ['a day that is none in an export', ['export', 'readings', '-c', example, '--from', 'may'], '--from'],
    ['no database yet', ['export', 'readings', '-c', example], 'There is no database yet.'],
    ['a fast clock for a real site', ['start', '-c', example, '--speed', '10'], 'Only the demo'],
    ['an unknown benchmark', ['bench', 'nix'], 'one of ingest'],
    ['a missing file of samples', ['feed', 'check', 'none.json'], 'none.json'],
  ])('%s ends with 2', async (_what, argv, said) => {
    const { code, err } = await leafturn(argv, folder, { env: { LEAFTURN_DATA: join(folder, 'empty') } });
    expect(err).toContain(said);
    expect(code).toBe(EXIT.badUsage);
  });

  it('trouble outside is told apart from mistakes', () => {
    expect(exitCodeOf(new LeafturnError('database-full', 'x'))).toBe(EXIT.trouble);
    expect(exitCodeOf(new LeafturnError('broker-failed', 'x'))).toBe(EXIT.trouble);
    expect(exitCodeOf(new LeafturnError('invalid-input', 'x'))).toBe(EXIT.badUsage);
    expect(exitCodeOf(new Error('a fault of the program'))).toBe(EXIT.trouble);
  });
});

describe('check-config', () => {
  it('says what the service would run with', async () => {
    const { code, out } = await leafturn(['check-config', '-c', example], folder);
    expect(code).toBe(EXIT.ok);
    expect(out).toContain('Home (home): 1 house, 2 watering lines, list at 05:00 Europe/Berlin');
    expect(out).toContain('no mistakes');
  });

  it('finds the site file by the environment, then by the usual places', async () => {
    copyFileSync(example, join(folder, 'leafturn.yaml'));
    writeFileSync(join(folder, 'other.yaml'), readFileSync(example, 'utf8').replace('name: Home', 'name: Elsewhere'));
    expect((await leafturn(['check-config'], folder)).out).toContain('Home (home)');
    const env = { LEAFTURN_CONFIG: 'other.yaml' };
    expect((await leafturn(['check-config'], folder, { env })).out).toContain('Elsewhere (home)');
    expect((await leafturn(['check-config', '-c', 'leafturn.yaml'], folder, { env })).out).toContain('Home (home)');
    rmSync(join(folder, 'leafturn.yaml'));
  });

  it('lists every mistake and ends with 2', async () => {
    const text = readFileSync(example, 'utf8')
      .replace('zone: Europe/Berlin', 'zone: Mars/North')
      .replace('port: 8080', 'prot: 8080');
    writeFileSync(join(folder, 'bad.yaml'), text);
    const { code, err } = await leafturn(['check-config', '-c', 'bad.yaml'], folder);
    expect(code).toBe(EXIT.badUsage);
    expect(err).toContain('sites[0].zone');
    expect(err).toContain('Did you mean port?');
    expect(err).toContain('2 problems.');
  });
});

describe('species check and rules check', () => {
  it('pass what comes with the service', async () => {
    const species = await leafturn(['species', 'check'], folder);
    expect(species).toMatchObject({ code: EXIT.ok });
    expect(species.out).toContain('17 species groups');
    expect(await leafturn(['rules', 'check'], folder)).toMatchObject({ code: EXIT.ok });
  });
});
