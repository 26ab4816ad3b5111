import { once } from 'node:events';
import { rmSync } from 'node:fs';
import { join } from 'node:path';
import closeWithGrace from 'close-with-grace';
import { type Logger, pino } from 'pino';
import type { Config } from '../../config.js';
import { LeafturnError, problemLine } from '../../domain/errors.js';
import { type Service, startService } from '../../main.js';
import { acceleratedClock, realClock } from '../clock.js';
import { DEMO_CONFIG } from '../config/paths.js';
import { configFor } from './check-config.js';
import { EXIT } from './exit-codes.js';
import { type CommandIo, print } from './io.js';
import { type AddCommands, examples, numberOption } from './program.js';
import { progressBar } from './progress.js';

interface StartOptions {
  readonly config?: string;
  readonly port?: number;
  readonly speed?: number;
}

/** Long enough for the last commit and the last answers; after it the process ends whatever is still open. */
const CLOSE_WITHIN_MS = 10_000;

/** `leafturn start`: the service, until it is told to end. Without a site file it shows the demo, and says so. */
export async function start(options: StartOptions, io: CommandIo): Promise<number> {
  const loaded = withPort(configFor(options.config, io), options.port);
  if (options.speed !== undefined && !loaded.demo)
    throw new LeafturnError('invalid-input', 'Only the demo can run faster than the day.', [
      { path: '--speed', expected: 'the demo, `leafturn demo --speed 1440`', got: `the site file ${loaded.file}` },
    ]);
  const config = options.speed === undefined ? loaded : withFreshDatabase(loaded);
  const logger = loggerFor(io, config);
  for (const warning of config.warnings) logger.warn(problemLine(warning));
  const clock = options.speed === undefined ? realClock() : acceleratedClock(io.now(), options.speed);
  const progress = progressBar(io, 'Writing the demo’s past');
  const service = await startService(config, {
    clock,
    logger,
    watch: { env: io.env, workingFolder: io.workingFolder },
    onDemoProgress: progress.update,
  });
  progress.stop();
  await service.ready;
  if (config.demo) print(io, 'This is the demo: invented sites, plants and weather.');
  print(io, `Today’s list: ${service.address}    API: ${service.address}/api/v1/docs`);
  if (config.demo) print(io, `Broker of the demo: ${service.ingest.link.status().address}`);
  return untilEnded(service, logger);
}

function loggerFor(io: CommandIo, config: Config): Logger {
  const level = config.log.level;
  // A person at a terminal reads lines; a log collector reads JSON.
  return io.stdout.isTTY
    ? pino({ level, transport: { target: 'pino-pretty', options: { colorize: true, ignore: 'pid,hostname' } } })
    : pino({ level, redact: ['req.headers.authorization', 'req.headers.cookie'] }, io.stdout);
}

const withPort = (config: Config, port: number | undefined): Config =>
  port === undefined ? config : { ...config, server: { ...config.server, port } };

/** A demo that has run ahead of the real day cannot be gone on with: a fast one begins anew, in a file of its own. */
function withFreshDatabase(config: Config): Config {
  const path = join(config.dataFolder, 'demo-fast.sqlite');
  for (const end of ['', '-wal', '-shm']) rmSync(`${path}${end}`, { force: true });
  return { ...config, storage: { ...config.storage, path } };
}

async function untilEnded(service: Service, logger: Logger): Promise<number> {
  let code: number = EXIT.ok;
  const closed = new EventTarget();
  const ended = once(closed, 'closed');
  // SIGHUP is the signal to read the site file again.
  closeWithGrace({ delay: CLOSE_WITHIN_MS, skip: ['SIGHUP'] }, async ({ err, signal }) => {
    if (err) {
      code = EXIT.trouble;
      logger.fatal({ err }, 'the service ends because of a fault');
    } else logger.info({ signal }, 'the service ends');
    await service.close();
    closed.dispatchEvent(new Event('closed'));
  });
  await ended;
  return code;
}

export const addStart: AddCommands = (program, io, run) => {
  program
    .command('start', { isDefault: false })
    .description('Start the service: sensors, lists, pages and API. Without a site file it shows the demo.')
    .option('-c, --config <file>', 'the site file')
    .option('--port <number>', 'port of the pages, in place of the one in the site file', numberOption(0, 65_535, true))
    .option('--speed <times>', 'demo only: run the clock faster, 1440 = a day a minute', numberOption(1, 20_000))
    .addHelpText('after', examples('leafturn start', 'leafturn start --config /etc/leafturn/site.yaml'))
    .action((options: StartOptions) => run(start(options, io)));
  program
    .command('demo')
    .description('Start the demo: two invented sites with months behind them.')
    .option('--port <number>', 'port of the pages (default: 8080)', numberOption(0, 65_535, true))
    .option('--speed <times>', 'run the clock faster, 1440 = a day a minute; begins anew', numberOption(1, 20_000))
    .addHelpText(
      'after',
      examples('leafturn demo', 'leafturn demo --speed 1440', 'LEAFTURN_DATA=/tmp/demo leafturn demo'),
    )
    .action((options: StartOptions) => run(start({ ...options, config: DEMO_CONFIG }, io)));
};
