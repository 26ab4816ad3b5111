import { join } from 'node:path';
import { Option } from 'commander';
import { readSecret } from '../../config.js';
import { ROLES } from '../../http/deps.js';
import { PACKAGE_CONFIG } from '../config/paths.js';
import { type BacktestHouseOptions, backtestHouse } from './backtest-house.js';
import { BACKTEST_PARTS, type BacktestWeatherOptions, backtestWeather } from './backtest-weather.js';
import { BENCH_NAMES, type BenchOptions, runBenches } from './bench.js';
import { checkConfig } from './check-config.js';
import { type ExportOptions, exportJournal, exportReadings } from './export.js';
import { checkFeedFile, replayFeed } from './feed.js';
import type { CommandIo } from './io.js';
import { type ListOptions, listCommand } from './list.js';
import { type AddCommands, examples, numberOption } from './program.js';
import { progressCount } from './progress.js';
import { checkRulebook, listFacts, type RulesOptions, testRules } from './rules.js';
import { checkSpecies } from './species.js';
import { addStart } from './start.js';
import { addToken, brokerUser, listTokens, revokeToken, type TokenAddOptions } from './token.js';
import { backupCommand, checkDatabase } from './upkeep.js';

const DEFAULT_RULEBOOK = join(PACKAGE_CONFIG, 'rulebook', 'default.yaml');
const CONFIG_OPTION = ['-c, --config <file>', 'the site file'] as const;

const addCheckConfig: AddCommands = (program, io, run) => {
  program
    .command('check-config')
    .description('Check the site file and the catalogue: every mistake at once, with line and mend.')
    .option(...CONFIG_OPTION)
    .addHelpText('after', examples('leafturn check-config', 'leafturn check-config --config /etc/leafturn/site.yaml'))
    .action((options: { config?: string }) => run(checkConfig(options, io)));
};

const addList: AddCommands = (program, io, run) => {
  program
    .command('list')
    .description('Show today’s list as text: what to water, what to look at first, and why.')
    .option(...CONFIG_OPTION)
    .option('--site <id>', 'one site only')
    .option('--day <date>', 'another day, e.g. 2026-10-25')
    .option('--url <address>', 'address of the running service (default: as the site file says)')
    .option('--json', 'as data')
    .addHelpText(
      'after',
      examples('leafturn list', 'leafturn list --site home --json', 'leafturn list --url http://glass.local:8080'),
    )
    .action((options: ListOptions) => run(listCommand(options, io)));
};

interface ReplayFlags {
  readonly house: string;
  readonly broker: string;
  readonly speed: number;
  readonly username?: string;
}

const addFeed: AddCommands = (program, io, run) => {
  const feed = program
    .command('feed')
    .description('Messages of sensors: send a recording again, check a reading of them.');
  feed
    .command('replay <file>')
    .description('Send a recording (CSV, CSV.gz or JSON lines) to a broker, as the sensors would have.')
    .requiredOption('--house <id>', 'house the recording is told of')
    .requiredOption('--broker <url>', 'e.g. mqtt://127.0.0.1:1883')
    .option(
      '--speed <times>',
      'seconds of the recording in one second; 0: as fast as the broker takes them',
      numberOption(0, 1e9),
      0,
    )
    .option('--username <name>', 'user of the broker; the password comes from LEAFTURN_MQTT_PASSWORD_FILE')
    .addHelpText(
      'after',
      examples(
        'leafturn feed replay house.csv.gz --house north-house --broker mqtt://127.0.0.1:1883',
        'leafturn feed replay log.jsonl --house north-house --broker mqtt://127.0.0.1:1883 --speed 3600',
      ),
    )
    .action((file: string, flags: ReplayFlags) => run(replay(file, flags, io)));
  feed
    .command('check <file>')
    .description('Check sample messages against the readings or errors they must become.')
    .addHelpText('after', examples('leafturn feed check feed-samples.json'))
    .action((file: string) => run(checkFeedFile(file, io)));
};

async function replay(file: string, flags: ReplayFlags, io: CommandIo): Promise<number> {
  const secretFile = io.env.LEAFTURN_MQTT_PASSWORD_FILE;
  const password = secretFile ? { password: readSecret(secretFile, 'LEAFTURN_MQTT_PASSWORD_FILE') } : {};
  const stop = new AbortController();
  const onSignal = (): void => stop.abort();
  process.once('SIGINT', onSignal);
  const counter = progressCount(io, 'Messages sent');
  try {
    return await replayFeed({ file, ...flags, ...password, signal: stop.signal, onProgress: counter.update }, io);
  } finally {
    counter.stop();
    process.off('SIGINT', onSignal);
  }
}

const addRules: AddCommands = (program, io, run) => {
  const rules = program.command('rules').description('The rulebook: check it, and try it on decision cases.');
  rules
    .command('check [file]')
    .description(
      'Check a rulebook: gaps, overlaps, rows that never apply, units, bounds, sources. Left out: the default one.',
    )
    .option('--catalogue <folder>', 'another catalogue')
    .addHelpText('after', examples('leafturn rules check', 'leafturn rules check my-rulebook.yaml'))
    .action((file: string | undefined, options: RulesOptions) =>
      run(checkRulebook(file ?? DEFAULT_RULEBOOK, options, io)),
    );
  rules
    .command('test <files...>')
    .description('Try decision cases; failing ones are shown with their trace.')
    .option('--rulebook <file>', 'another rulebook')
    .option('--catalogue <folder>', 'another catalogue')
    .option('--coverage', 'show which rows the cases meet and do not meet')
    .addHelpText('after', examples('leafturn rules test cases.yaml', 'leafturn rules test *.yaml --rulebook mine.yaml'))
    .action((files: string[], options: RulesOptions) => run(testRules(files, options, io)));
  rules
    .command('facts')
    .description('Everything a rule can see: each fact with unit, meaning and where it comes from.')
    .addHelpText('after', examples('leafturn rules facts'))
    .action(() => run(listFacts(io)));
};

const addSpecies: AddCommands = (program, io, run) => {
  program
    .command('species')
    .description('The catalogue of species groups, mixes, pots, covers and cloths.')
    .command('check [folder]')
    .description(
      'Check a catalogue folder: every mistake at once, with line. Left out: the one that comes with leafturn.',
    )
    .addHelpText('after', examples('leafturn species check', 'leafturn species check my-catalogue'))
    .action((folder: string | undefined) => run(checkSpecies(folder, io)));
};

const addExport: AddCommands = (program, io, run) => {
  const parent = program.command('export').description('Readings or journal as CSV.');
  for (const [name, description, command] of [
    ['readings', 'Every single reading that is still kept.', exportReadings],
    ['journal', 'What people did and saw, entries taken back included.', exportJournal],
  ] as const)
    parent
      .command(name)
      .description(description)
      .option(...CONFIG_OPTION)
      .option('--site <id>', 'one site only')
      .option('--from <date>', 'first day, by the clock of the site')
      .option('--to <date>', 'last day')
      .option('-o, --out <file>', 'a new file (default: standard output)')
      .addHelpText(
        'after',
        examples(`leafturn export ${name} --out ${name}.csv`, `leafturn export ${name} --site home --from 2026-10-01`),
      )
      .action((options: ExportOptions) => run(command(options, io)));
};

const addTokens: AddCommands = (program, io, run) => {
  const token = program.command('token').description('Who may read and write: access tokens, and users of the broker.');
  token
    .command('add <name>')
    .description('Make a token. It is shown this once; only its hash is kept.')
    .option(...CONFIG_OPTION)
    .addOption(new Option('--role <role>', 'what it may do').choices(ROLES).default('staff'))
    .option('--print', 'keep nothing; show lines for the site file')
    .addHelpText(
      'after',
      examples('leafturn token add "Bench tablet" --role staff', 'leafturn token add reports --role read --print'),
    )
    .action((name: string, options: TokenAddOptions) => run(addToken(name, options, io)));
  token
    .command('list')
    .description('Tokens of the site file and of the database; never the tokens themselves.')
    .option(...CONFIG_OPTION)
    .addHelpText('after', examples('leafturn token list'))
    .action((options: { config?: string }) => run(listTokens(options, io)));
  token
    .command('revoke')
    .argument('<id>', 'number shown by `leafturn token list`', numberOption(1, Number.MAX_SAFE_INTEGER, true))
    .description('End a token of the database.')
    .option(...CONFIG_OPTION)
    .addHelpText('after', examples('leafturn token revoke 3'))
    .action((id: number, options: { config?: string }) => run(revokeToken(id, options, io)));
  token
    .command('broker-user <name>')
    .description('Make a user and a password for the broker inside the service; shows lines for the site file.')
    .addHelpText('after', examples('leafturn token broker-user north-house'))
    .action((name: string) => run(brokerUser(name, io)));
};

const addUpkeep: AddCommands = (program, io, run) => {
  program
    .command('backup')
    .description('Write a sound copy of the database; the service may go on.')
    .option(...CONFIG_OPTION)
    .option('-o, --out <file>', 'a new file (default: the backup folder of the site file)')
    .addHelpText('after', examples('leafturn backup', 'leafturn backup --out /mnt/usb/leafturn.sqlite'))
    .action((options: { config?: string; out?: string }) => run(backupCommand(options, io)));
  program
    .command('check-database')
    .description('Check that the database is sound.')
    .option(...CONFIG_OPTION)
    .addHelpText('after', examples('leafturn check-database'))
    .action((options: { config?: string }) => run(checkDatabase(options, io)));
};

const addBench: AddCommands = (program, io, run) => {
  program
    .command('bench [names...]')
    .description(`Measure the service beside yardsticks of the same run: ${BENCH_NAMES.join(', ')}.`)
    .option('--json', 'as data')
    .option('--messages <number>', 'also watch memory over so many messages', numberOption(0, 1e9, true))
    .addHelpText(
      'after',
      examples('leafturn bench', 'leafturn bench storage round --json', 'leafturn bench ingest --messages 2000000'),
    )
    .action((names: string[], options: BenchOptions) => run(runBenches(names, options, io)));
};

const addBacktest: AddCommands = (program, io, run) => {
  const backtest = program
    .command('backtest')
    .description('How good forecasts and alerts would have been, on records.');
  backtest
    .command('weather [parts...]')
    .description(`Hot days and hot spells on archived forecasts and records: ${BACKTEST_PARTS.join(', ')}.`)
    .requiredOption('--data <folder>', 'folder that holds `weather` and `houses`')
    .addHelpText(
      'after',
      examples('leafturn backtest weather --data records', 'leafturn backtest weather maxima spells --data records'),
    )
    .action((parts: string[], options: BacktestWeatherOptions) => run(backtestWeather(parts, options, io)));
  backtest
    .command('house')
    .description('The highest inside temperature of each day of a house’s record, told 0, 1 and 2 days ahead at 06:00.')
    .option('--data <csv>', 'the record, .csv or .csv.gz')
    .option('--meta <json>', 'what is known of the houses: latitude, longitude, elevation, time zone')
    .option('--name <house>', 'the house in that file')
    .option('-o, --out <file>', 'file for day, lead, p10, p50, p90 (default: standard output)')
    .option('--all <folder>', 'a table of all houses of a folder with houses.json: skill, band, width')
    .addHelpText(
      'after',
      examples(
        'leafturn backtest house --data house.csv.gz --meta houses.json --name north-house --out forecasts.csv',
        'leafturn backtest house --all records/houses',
      ),
    )
    .action((options: BacktestHouseOptions) => run(backtestHouse(options, io)));
};

export const ALL_COMMANDS: readonly AddCommands[] = [
  addStart,
  addCheckConfig,
  addList,
  addFeed,
  addRules,
  addSpecies,
  addExport,
  addTokens,
  addUpkeep,
  addBench,
  addBacktest,
];
