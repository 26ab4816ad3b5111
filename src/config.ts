import { readFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import type { z } from 'zod';
import { loadCatalogue } from './app/config/catalogue.js';
import { crossChecks, crossWarnings } from './app/config/cross-checks.js';
import type { ForecastFile } from './app/config/forecast.js';
import type { NotificationsFile } from './app/config/notifications.js';
import { dataFolder, type Environment, PACKAGE_CONFIG, pathFrom } from './app/config/paths.js';
import { loadRulebook } from './app/config/rulebook.js';
import { type ConfigFile, fileSchema } from './app/config/schema.js';
import { type WatchHandlers, watchReload } from './app/config/watch.js';
import { readYamlFile } from './app/config/yaml-file.js';
import type { Catalogue } from './domain/catalogue.js';
import { LeafturnError, type Problem } from './domain/errors.js';
import { defined } from './domain/optional.js';
import { schemaProblems, valueAt } from './domain/problems.js';
import type { PulledSource } from './forecast/pulling.js';
import type { MailSettings } from './notify/mail.js';
import type { WebhookSettings } from './notify/webhook.js';
import { SECRET_FORM, webhookKey } from './notify/webhook-signature.js';
import type { Rulebook } from './rules/rulebook.js';

/** The configuration as the service uses it: checked against itself and the catalogue, with every path absolute. */
export interface Config
  extends Omit<ConfigFile, 'broker' | 'storage' | 'catalogue' | 'rulebook' | 'forecast' | 'notifications'> {
  /** The site file. */
  readonly file: string;
  readonly dataFolder: string;
  readonly broker: BrokerConfig;
  readonly storage: ConfigFile['storage'];
  readonly forecast: ForecastConfig;
  readonly notifications: NotificationsConfig;
  readonly catalogue: Catalogue;
  readonly catalogueFolder: string;
  readonly rulebook: Rulebook;
  readonly rulebookFolder: string;
  /** What is allowed but hardly meant. */
  readonly warnings: readonly Problem[];
}

type ExternalFile = Extract<ConfigFile['broker'], { kind: 'external' }>;
export type EmbeddedBrokerConfig = Extract<ConfigFile['broker'], { kind: 'embedded' }>;
export interface ExternalBrokerConfig extends Omit<ExternalFile, 'passwordFile' | 'caFile'> {
  readonly password?: string;
  readonly caFile?: string;
}
export type BrokerConfig = EmbeddedBrokerConfig | ExternalBrokerConfig;

export interface ForecastConfig {
  readonly pulled: readonly PulledSource[];
  /** Where other programs hand forecasts over; `+` stands for the id of a site. */
  readonly pushedTopic?: string;
}

export type ChannelSettings =
  | ({ readonly kind: 'webhook' } & Omit<WebhookSettings, 'program'>)
  | ({ readonly kind: 'mail' } & MailSettings);
export interface NotificationsConfig extends Pick<NotificationsFile, 'mqtt' | 'quietHours'> {
  readonly channels: readonly ChannelSettings[];
}

export interface LoadOptions {
  readonly env?: Environment;
  /** Relative locations of the environment are taken from here. */
  readonly workingFolder?: string;
}

/**
 * Reads and checks a site file, with the catalogue it refers to.
 * @throws LeafturnError whose problems say everything that is wrong: file, line, what was expected, what came, how to mend
 */
export function loadConfig(path: string, options: LoadOptions = {}): Config {
  const env = options.env ?? process.env;
  const workingFolder = options.workingFolder ?? process.cwd();
  const file = resolve(workingFolder, path);
  const yaml = readYamlFile(file, 'The site file');
  const parsed = fileSchema.safeParse(yaml.content);
  const problems: Problem[] = [];
  if (!parsed.success) problems.push(...schemaProblems(fileSchema, yaml.content, parsed.error).map(yaml.located));

  const folder = dirname(file);
  const folders = ownFolders(yaml.content, folder);
  const loaded = <T>(load: () => T, place = (problem: Problem): Problem => problem): T | undefined => {
    try {
      return load();
    } catch (error) {
      problems.push(...problemsFrom(error).map(place));
      return undefined;
    }
  };
  const catalogue = loaded(() => loadCatalogue(folders.catalogue));
  const rulebook = loaded(() => loadRulebook(folders.rulebook));
  const readable = parsed.success ? parsed.data : readableSections(yaml.content, parsed.error);
  problems.push(...crossChecks(readable, catalogue).map(yaml.located));
  const { broker: written, forecast: asked, notifications: told } = readable;
  const broker = written && loaded(() => withSecrets(written, folder, env), yaml.located);
  const forecast = asked && loaded(() => withKeys(asked, folder), yaml.located);
  // One after the other, so that a secret that is missing does not hide another.
  const channels = (told?.channels ?? []).map((channel, index) =>
    loaded(() => channelWithSecrets(channel, `notifications.channels[${index}]`, folder, env), yaml.located),
  );
  if (problems.length > 0 || !parsed.success || !catalogue || !rulebook || !broker || !forecast)
    throw new LeafturnError('invalid-input', `${file} cannot be used.`, problems);

  const data = dataFolder(env, workingFolder);
  const { storage } = parsed.data;
  return {
    ...parsed.data,
    file,
    dataFolder: data,
    broker,
    forecast,
    notifications: {
      ...parsed.data.notifications,
      channels: channels.filter((channel) => channel !== undefined),
    },
    storage: {
      ...storage,
      path: pathFrom(data, storage.path),
      ...(storage.backup && { backup: { ...storage.backup, directory: pathFrom(data, storage.backup.directory) } }),
    },
    catalogue,
    catalogueFolder: folders.catalogue,
    rulebook,
    rulebookFolder: folders.rulebook,
    warnings: crossWarnings(parsed.data).map(yaml.located),
  };
}

/** The sections that can be read all the same, so that one typing mistake does not hide what else is wrong. */
function readableSections(content: unknown, error: z.ZodError): Partial<ConfigFile> {
  const copy: unknown = structuredClone(content);
  for (const issue of error.issues) {
    const parent = issue.code === 'unrecognized_keys' ? valueAt(copy, issue.path) : undefined;
    if (issue.code === 'unrecognized_keys' && typeof parent === 'object' && parent !== null)
      for (const key of issue.keys) Reflect.deleteProperty(parent, key);
  }
  return Object.fromEntries(
    Object.entries(fileSchema.shape).flatMap(([section, schema]) => {
      const parsed = schema.safeParse(valueAt(copy, [section]));
      return parsed.success ? [[section, parsed.data]] : [];
    }),
  );
}

/** The problems of an error of ours; another error is a fault of the program and goes on. */
export function problemsFrom(error: unknown): readonly Problem[] {
  if (!(error instanceof LeafturnError)) throw error;
  return error.problems.length > 0 ? error.problems : [{ path: '', expected: 'no trouble', got: error.message }];
}

/** Read leniently, so that a mistake elsewhere in the file does not hide mistakes in the catalogue. */
function ownFolders(content: unknown, folder: string): { catalogue: string; rulebook: string } {
  const own = (section: string): string => {
    const directory = (content as Record<string, { directory?: unknown } | undefined> | null)?.[section]?.directory;
    return typeof directory === 'string' ? pathFrom(folder, directory) : join(PACKAGE_CONFIG, section);
  };
  return { catalogue: own('catalogue'), rulebook: own('rulebook') };
}

function withSecrets(broker: ConfigFile['broker'], folder: string, env: Environment): BrokerConfig {
  if (broker.kind === 'embedded') return broker;
  const { passwordFile, caFile, ...rest } = broker;
  const fromEnvironment = env.LEAFTURN_MQTT_PASSWORD_FILE;
  const secretFile = fromEnvironment ?? (passwordFile && pathFrom(folder, passwordFile));
  const password =
    secretFile === undefined
      ? undefined
      : readSecret(secretFile, fromEnvironment === undefined ? 'broker.passwordFile' : 'LEAFTURN_MQTT_PASSWORD_FILE');
  return {
    ...rest,
    ...(password !== undefined && { password }),
    ...(caFile !== undefined && { caFile: pathFrom(folder, caFile) }),
  };
}

function withKeys({ pulled, pushed }: ForecastFile, folder: string): ForecastConfig {
  return {
    pulled: pulled.map(({ keyFile, sites, ...source }, index) => ({
      ...source,
      ...(sites && { sites }),
      ...(keyFile !== undefined && {
        key: readSecret(pathFrom(folder, keyFile), `forecast.pulled[${index}].keyFile`),
      }),
    })),
    ...(pushed && { pushedTopic: pushed.topic }),
  };
}

const MAIL_PORTS = { starttls: 587, tls: 465, none: 25 } as const;

function channelWithSecrets(
  channel: NotificationsFile['channels'][number],
  path: string,
  folder: string,
  env: Environment,
): ChannelSettings {
  const wanted = defined({ kinds: channel.kinds, sites: channel.sites });
  if (channel.kind === 'webhook') {
    const { name, url, secretFile, previousSecretFile } = channel;
    const keys = [webhookKeyIn(pathFrom(folder, secretFile), `${path}.secretFile`)];
    if (previousSecretFile !== undefined)
      keys.push(webhookKeyIn(pathFrom(folder, previousSecretFile), `${path}.previousSecretFile`));
    return { kind: 'webhook', name, url, keys, ...wanted };
  }
  const { name, host, security, port = MAIL_PORTS[security], user, passwordFile, caFile, from, to } = channel;
  const fromEnvironment = env.LEAFTURN_MAIL_PASSWORD_FILE;
  const secret = passwordFile === undefined ? fromEnvironment : pathFrom(folder, passwordFile);
  const place = passwordFile === undefined && fromEnvironment ? 'LEAFTURN_MAIL_PASSWORD_FILE' : `${path}.passwordFile`;
  if (user !== undefined && secret === undefined)
    throw new LeafturnError('invalid-input', 'A password is missing.', [
      {
        path: place,
        expected: `the file with the password of ${user}`,
        got: 'nothing',
        mend: 'Add passwordFile, or set LEAFTURN_MAIL_PASSWORD_FILE.',
      },
    ]);
  const password = user !== undefined && secret !== undefined ? readSecret(secret, place) : undefined;
  const ca = caFile === undefined ? undefined : readText(pathFrom(folder, caFile), `${path}.caFile`);
  return { kind: 'mail', name, host, port, security, from, to, ...defined({ user, password, ca }), ...wanted };
}

function webhookKeyIn(file: string, path: string): Buffer {
  const key = webhookKey(readSecret(file, path));
  if (key) return key;
  throw new LeafturnError('invalid-input', `The secret in ${file} is not in the form of Standard Webhooks.`, [
    {
      path,
      expected: SECRET_FORM,
      got: 'something else, which is not shown here',
      mend: `Make one with: printf 'whsec_%s\\n' "$(openssl rand -base64 32)" > ${file}`,
    },
  ]);
}

/** A secret is the first line of its file: editors and `echo` leave a line end behind. */
export function readSecret(file: string, path: string): string {
  const text = readText(file, path);
  const secret = text.split(/\r?\n/, 1)[0] ?? '';
  if (secret === '')
    throw new LeafturnError('file-failed', `The secret in ${file} is empty.`, [
      { path, expected: 'the secret on the first line of the file', got: 'an empty line' },
    ]);
  return secret;
}

function readText(file: string, path: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch (error) {
    throw new LeafturnError('file-failed', `${file} cannot be read.`, [
      {
        path,
        expected: `a readable file at ${file}`,
        got: (error as NodeJS.ErrnoException).code ?? String(error),
        mend: 'Create it, readable by the user the service runs as, or correct the path.',
      },
    ]);
  }
}

/**
 * Reads the site file again at every SIGHUP. A file with mistakes is not taken up: `onProblems` is told, and the last
 * good configuration stays in force. An error that is not about the file is told as a problem too, so that a signal can
 * never end the service.
 * @returns stops watching
 */
export function watchConfig(
  path: string,
  options: LoadOptions,
  handlers: WatchHandlers<Config>,
  signals: NodeJS.EventEmitter = process,
): () => void {
  const toProblems = (error: unknown): readonly Problem[] =>
    error instanceof LeafturnError
      ? problemsFrom(error)
      : [{ path, expected: 'a configuration the service can use', got: String(error) }];
  return watchReload(() => loadConfig(path, options), toProblems, handlers, signals);
}
