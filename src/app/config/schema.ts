import { z } from 'zod';
import { mappingSchema } from '../../domain/mapping.js';
import { siteSchema } from '../../domain/site.js';
import { ROLES } from '../../http/deps.js';
import { isPasswordHash } from '../../ingest/passwords.js';
import { filePath } from './checks.js';
import { forecastSchema } from './forecast.js';
import { notificationsSchema } from './notifications.js';

/** The form of the site file. Everything has a default but the sites themselves. */

const port = z.number().int().min(0).max(65_535);
const hostName = z.string().trim().min(1).max(253);

const tokenSchema = z.strictObject({
  name: z.string().trim().min(1).max(80),
  role: z.enum(ROLES),
  /** What `leafturn token add --print` shows. The token itself is never written down. */
  sha256: z.string().regex(/^[0-9a-f]{64}$/, 'the 64 hexadecimal digits that `leafturn token add --print` shows'),
});
export type ConfiguredToken = z.infer<typeof tokenSchema>;

const brokerUserSchema = z.strictObject({
  name: z.string().trim().min(1).max(80),
  /** What `leafturn token broker-user` shows. */
  passwordHash: z.string().refine(isPasswordHash, 'the scrypt hash that `leafturn token broker-user` shows'),
});

/** The broker inside the service: nothing to install, for one house or one farm network. */
const embeddedBrokerSchema = z.strictObject({
  kind: z.literal('embedded'),
  host: hostName.default('127.0.0.1'),
  port: port.default(1883),
  users: z.array(brokerUserSchema).max(1000).default([]),
  maxPacketBytes: z.number().int().min(1024).max(16_777_216).default(262_144),
  maxClients: z.number().int().min(1).max(10_000).default(500),
});

/** A broker of one's own, such as the Mosquitto of docker-compose.yml. */
const externalBrokerSchema = z.strictObject({
  kind: z.literal('external'),
  url: z
    .string()
    .regex(/^(mqtts?|wss?):\/\/[^\s/]+/, 'an address such as mqtt://127.0.0.1:1883 or mqtts://broker.example:8883'),
  /** The broker keeps messages for this name while the service is away: never use it twice. */
  clientId: z
    .string()
    .regex(/^[A-Za-z0-9_.-]{1,64}$/, 'letters, digits, dots, underscores and hyphens, at most 64')
    .default('leafturn'),
  username: z.string().min(1).max(200).optional(),
  /** LEAFTURN_MQTT_PASSWORD_FILE goes before it. */
  passwordFile: filePath.optional(),
  caFile: filePath.optional(),
  keepaliveSeconds: z.number().int().min(5).max(3600).default(30),
  /** How long the broker keeps messages for an absent service. */
  sessionExpiryDays: z.number().min(0.01).max(365).default(7),
});

export const brokerSchema = z.discriminatedUnion('kind', [embeddedBrokerSchema, externalBrokerSchema]);

const storageSchema = z.strictObject({
  /** From the data folder. */
  path: filePath.default('leafturn.sqlite'),
  retention: z
    .strictObject({
      readingsDays: z.number().int().min(2).max(36_500).default(120),
      hourlyDays: z.number().int().min(35).max(36_500).default(1830),
      refusalsKept: z.number().int().min(100).max(1_000_000).default(20_000),
      idempotencyHours: z.number().int().min(1).max(720).default(48),
      roundRevisionsDays: z.number().int().min(1).max(36_500).default(30),
      forecastsDays: z.number().int().min(90).max(36_500).default(400),
    })
    .prefault({}),
  backup: z
    .strictObject({
      /** From the data folder. */
      directory: filePath.default('backups'),
      everyHours: z.number().min(0.1).max(720).default(24),
      keep: z.number().int().min(1).max(1000).default(14),
    })
    .optional(),
});

export const fileSchema = z.strictObject({
  sites: z.array(siteSchema).min(1).max(100),
  sensors: z.array(mappingSchema).max(2000).default([]),
  broker: brokerSchema.prefault({ kind: 'embedded' }),
  storage: storageSchema.prefault({}),
  server: z.strictObject({ host: hostName.default('127.0.0.1'), port: port.default(8080) }).prefault({}),
  access: z.strictObject({ tokens: z.array(tokenSchema).max(1000).default([]) }).prefault({}),
  /** How the morning list is made. */
  round: z
    .strictObject({
      /** A list longer than this is not walked: the looks worth most come first. */
      looksAtMost: z.number().int().min(0).max(500).default(15),
      /** Entries that come in quick succession make one new revision. */
      settleSeconds: z.number().min(0).max(600).default(2),
      /** Readings go on coming in: the list is made again this often; 0: only on entries. */
      renewMinutes: z.number().int().min(0).max(1440).default(60),
    })
    .prefault({}),
  notifications: notificationsSchema.prefault({}),
  forecast: forecastSchema.prefault({}),
  /** Folders of one's own in place of those that come with the service, from the folder of this file. */
  catalogue: z.strictObject({ directory: filePath }).optional(),
  rulebook: z.strictObject({ directory: filePath }).optional(),
  log: z.strictObject({ level: z.enum(['debug', 'info', 'warn', 'error']).default('info') }).prefault({}),
  /** Invented readings and an invented journal; never in the file of a real site. */
  demo: z
    .strictObject({
      seed: z.number().int().min(0).max(2_147_483_647).default(1),
      /** The story of the last days needs two weeks to be told. */
      historyDays: z.number().int().min(14).max(730).default(120),
      readingMinutes: z.number().int().min(1).max(60).default(10),
    })
    .optional(),
});
export type ConfigFile = z.infer<typeof fileSchema>;
