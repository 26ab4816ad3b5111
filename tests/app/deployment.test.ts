import { execFile } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { promisify } from 'node:util';
import { pino } from 'pino';
import { afterAll, describe, expect, it, onTestFinished } from 'vitest';
import { parse } from 'yaml';
import { realClock } from '../../src/app/clock.js';
import { ENVIRONMENT, PACKAGE_CONFIG, PACKAGE_ROOT } from '../../src/app/config/paths.js';
import { loadConfig } from '../../src/config.js';
import { startService } from '../../src/main.js';
import { hasMosquitto, startMosquitto } from '../support/broker.js';

// No container engine is needed: the files are read, and the commands in them run bare.

const run = promisify(execFile);
const folder = mkdtempSync(join(tmpdir(), 'leafturn-deployment-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const text = (path: string): string => readFileSync(join(PACKAGE_ROOT, path), 'utf8');
/** Exit code of a command, whatever it is. */
const exitOf = (file: string, args: readonly string[]): Promise<number> =>
  run(file, args).then(
    () => 0,
    (error: { code?: number }) => error.code ?? -1,
  );

interface Service {
  readonly image: string;
  readonly build?: { readonly context: string; readonly dockerfile: string };
  readonly user: string;
  readonly read_only: boolean;
  readonly cap_drop: readonly string[];
  readonly security_opt: readonly string[];
  readonly environment?: Readonly<Record<string, string>>;
  readonly secrets: readonly (string | { readonly source: string; readonly target: string })[];
  readonly volumes: readonly string[];
  readonly ports: readonly string[];
  readonly networks: readonly string[];
  readonly healthcheck: { readonly test: readonly string[] };
}
interface Compose {
  readonly services: Readonly<Record<'leafturn' | 'broker', Service>>;
  readonly networks: Readonly<Record<string, { readonly internal?: boolean }>>;
  readonly volumes: Readonly<Record<string, unknown>>;
  readonly secrets: Readonly<Record<string, { readonly file: string }>>;
}
const composeText = text('docker-compose.yml');
const compose = parse(composeText) as Compose;
const services = Object.entries(compose.services);

/** `${NAME:-default}` as it stands when nobody sets NAME. */
const byDefault = (value: string): string => value.replaceAll(/\$\{\w+:-([^}]*)\}/g, '$1');
const volumeParts = (volume: string): readonly string[] => byDefault(volume).split(':');
const hostPaths = services.flatMap(([, { volumes }]) =>
  volumes.map((volume) => volumeParts(volume)[0] as string).filter((source) => /^[./]/.test(source)),
);

describe('docker-compose.yml', () => {
  it.each(services)('%s runs without rights it does not need', (_name, service) => {
    expect(service.read_only).toBe(true);
    expect(service.cap_drop).toEqual(['ALL']);
    expect(service.security_opt).toContain('no-new-privileges:true');
    expect(service.user).toMatch(/^[1-9]\d+:[1-9]\d+$/);
    expect(service.healthcheck.test.length).toBeGreaterThan(1);
  });

  it('names only host paths that are there, or that its first lines tell to make', () => {
    const secretFiles = Object.values(compose.secrets).map(({ file }) => byDefault(file));
    expect(hostPaths.length).toBeGreaterThan(2);
    for (const path of [...hostPaths, ...secretFiles]) {
      if (path.startsWith('./data/')) expect(composeText).toContain(path.slice(2));
      else expect(existsSync(join(PACKAGE_ROOT, path)), path).toBe(true);
    }
  });

  it('declares every named volume, secret and network it uses, and keeps secrets in files', () => {
    for (const [, service] of services) {
      const named = service.volumes.map((volume) => volumeParts(volume)[0] as string);
      for (const volume of named.filter((name) => /^[a-z]/.test(name))) expect(compose.volumes).toHaveProperty(volume);
      for (const secret of service.secrets)
        expect(compose.secrets).toHaveProperty(typeof secret === 'string' ? secret : secret.source);
      for (const network of service.networks) expect(compose.networks).toHaveProperty(network);
    }
    expect(Object.values(compose.secrets).every(({ file }) => file.includes('/'))).toBe(true);
  });

  it('sets only variables the service knows', () => {
    for (const name of Object.keys(compose.services.leafturn.environment ?? {}))
      expect(ENVIRONMENT).toHaveProperty(name);
  });

  it('takes a Mosquitto of 2.1 or later, whose port without TLS stays between the containers', () => {
    const [, major, minor] = /^eclipse-mosquitto:(\d+)\.(\d+)/.exec(compose.services.broker.image) ?? [];
    expect(Number(major) * 100 + Number(minor)).toBeGreaterThanOrEqual(201);
    expect(compose.services.broker.ports).toEqual(['8883:8883']);
    expect(compose.networks.inside?.internal).toBe(true);
  });

  it('has a site file that fits: broker, account, ports and environment', () => {
    writeFileSync(join(folder, 'password'), 'a-password\n');
    const config = loadConfig(join(PACKAGE_CONFIG, 'site.container.yaml'), {
      env: { LEAFTURN_DATA: folder, LEAFTURN_MQTT_PASSWORD_FILE: join(folder, 'password') },
    });
    const broker = config.broker.kind === 'external' ? config.broker : undefined;
    const address = new URL(broker?.url ?? '');
    expect(compose.services).toHaveProperty(address.hostname);
    expect(text('config/mosquitto.conf')).toMatch(new RegExp(`^listener ${address.port}$`, 'm'));
    expect(text('config/mosquitto.acl')).toMatch(new RegExp(`^user ${broker?.username}$`, 'm'));
    expect(compose.services.leafturn.ports).toContain(`${config.server.port}:${config.server.port}`);
    expect(config.server.host).toBe('0.0.0.0');
  });

  it('mounts the files mosquitto.conf names where it looks for them', () => {
    const { volumes, secrets } = compose.services.broker;
    const targets = [
      ...volumes.map((volume) => volumeParts(volume)[1] as string),
      ...secrets.flatMap((secret) => (typeof secret === 'string' ? [] : [secret.target])),
    ];
    const named = [...text('config/mosquitto.conf').matchAll(/^(?:\w+file|persistence_location) (\/mosquitto\S+)$/gm)];
    expect(named.length).toBeGreaterThanOrEqual(5);
    for (const [, path = ''] of named)
      expect(
        targets.some((target) => path === target || path.startsWith(`${target}/`)),
        path,
      ).toBe(true);
  });

  it('finds a running service healthy, and a stopped one not', async () => {
    const [kind, node = '', ...args] = compose.services.leafturn.healthcheck.test;
    expect([kind, node]).toEqual(['CMD', '/nodejs/bin/node']);
    const site = join(folder, 'site.yaml');
    writeFileSync(
      site,
      text('config/site.container.yaml')
        .replace(/^broker:\n(?: .*\n)+/m, 'broker: { kind: embedded, port: 0 }\n')
        .replace(/^server:\n(?: .*\n)+/m, 'server: { port: 0 }\n'),
    );
    const service = await startService(loadConfig(site, { env: { LEAFTURN_DATA: join(folder, 'data') } }), {
      clock: realClock(),
      logger: pino({ level: 'silent' }),
    });
    let open = true;
    const close = async (): Promise<void> => {
      if (open) await service.close();
      open = false;
    };
    onTestFinished(close);
    await service.ready;
    const bare = args.map((argument) => argument.replace('127.0.0.1:8080', new URL(service.address).host));
    expect(await exitOf(process.execPath, bare)).toBe(0);
    await close();
    expect(await exitOf(process.execPath, bare)).toBe(1);
  });

  it.skipIf(!hasMosquitto)('finds a running broker healthy, and only with the password of the service', async () => {
    const [kind, command = ''] = compose.services.broker.healthcheck.test;
    expect(kind).toBe('CMD-SHELL');
    const accounts = join(folder, 'passwd');
    const password = join(folder, 'mqtt_password');
    writeFileSync(password, 'from the file\n');
    await run('mosquitto_passwd', ['-c', '-b', accounts, 'leafturn', 'from the file']);
    const acl = join(PACKAGE_CONFIG, 'mosquitto.acl');
    const broker = await startMosquitto(`allow_anonymous false\npassword_file ${accounts}\nacl_file ${acl}\n`);
    const bare = command
      .replaceAll('$$', '$')
      .replace('-p 1883', `-p ${broker.port}`)
      .replace('/run/secrets/mqtt_password', password);
    expect(await exitOf('sh', ['-c', bare])).toBe(0);
    writeFileSync(password, 'another\n');
    expect(await exitOf('sh', ['-c', bare])).not.toBe(0);
  });
});

describe('the container file', () => {
  const lines = text('config/Dockerfile')
    .replaceAll('\\\n', ' ')
    .split('\n')
    .filter((line) => line.trim() !== '' && !line.startsWith('#'));
  const all = (word: string): string[][] =>
    lines.filter((line) => line.startsWith(`${word} `)).map((line) => line.split(/\s+/).slice(1));
  const ignored = text('.dockerignore').split('\n');

  it('copies only what is there and what reaches the builder', () => {
    const sources = all('COPY')
      .filter(([first = '']) => !first.startsWith('--'))
      .flatMap((parts) => parts.slice(0, -1));
    expect(sources).toContain('src');
    for (const source of sources) {
      expect(existsSync(join(PACKAGE_ROOT, source)), source).toBe(true);
      expect(ignored).toContain(`!${source.replace(/^\.\//, '')}`);
    }
    expect(ignored).toContain('*');
  });

  it('copies everything the service reads into the second stage', () => {
    const second = all('COPY')
      .filter(([first]) => first === '--from=build')
      .map((parts) => parts.at(-2));
    expect(second).toEqual(
      expect.arrayContaining(['/app/package.json', '/app/node_modules', '/app/config', '/app/dist']),
    );
  });

  it('has two stages of one Debian release, and the second without root', () => {
    const [build = '', final = ''] = all('FROM').map(([image]) => image ?? '');
    // Debian 12 is bookworm.
    expect(build).toMatch(/^node:20-bookworm/);
    expect(final).toMatch(/nodejs20-debian12/);
    expect(all('USER').at(-1)).toEqual([compose.services.leafturn.user]);
  });

  it('starts what package.json calls leafturn', () => {
    const { bin } = JSON.parse(text('package.json')) as { bin: { leafturn: string } };
    expect(lines.find((line) => line.startsWith('ENTRYPOINT'))).toContain(`"${bin.leafturn}"`);
    const { build } = compose.services.leafturn;
    expect(existsSync(resolve(PACKAGE_ROOT, build?.context ?? 'none', build?.dockerfile ?? 'none'))).toBe(true);
  });
});

describe('the service unit', () => {
  const unit = text('config/leafturn.service');
  const setting = (name: string): string | undefined => new RegExp(`^${name}=(.*)$`, 'm').exec(unit)?.[1];
  /** systemd is told of the Node of this machine: it refuses a program that is not there. */
  const local = join(folder, 'leafturn.service');
  writeFileSync(local, unit.replace('/usr/bin/node', process.execPath));
  const analyze = '/usr/bin/systemd-analyze';
  if (!existsSync(analyze)) console.log('left out: there is no systemd-analyze on this machine');

  it('starts what package.json calls leafturn, reloads by the signal the service listens to', () => {
    expect(setting('ExecStart')).toBe('/usr/bin/node /opt/leafturn/dist/cli.js start');
    expect(setting('ExecReload')).toContain('-HUP');
    const variables = [...unit.matchAll(/^#?Environment=(LEAFTURN_\w+)=/gm)].map(([, name]) => name);
    expect(variables.length).toBe(3);
    for (const name of variables) expect(ENVIRONMENT).toHaveProperty(name ?? '');
  });

  it('writes only to its own folder, as a user of its own', () => {
    expect(setting('DynamicUser')).toBe('yes');
    expect(setting('ProtectSystem')).toBe('strict');
    expect(`/var/lib/${setting('StateDirectory')}`).toBe(setting('WorkingDirectory'));
    // The engine writes machine code at run time.
    expect(unit).not.toMatch(/^MemoryDenyWriteExecute=/m);
  });

  it.skipIf(!existsSync(analyze))('is understood by systemd and little exposed', async () => {
    const { stderr } = await run(analyze, ['verify', local]);
    expect(stderr).toBe('');
    // 20 stands for 2.0 of 10 on the scale of systemd-analyze, where 10 is no protection at all.
    expect(await exitOf(analyze, ['security', '--offline=yes', '--threshold=20', local])).toBe(0);
  });
});

it('nothing of the deployment is left outside config but the compose file', () => {
  expect(dirname(PACKAGE_CONFIG)).toBe(PACKAGE_ROOT);
  for (const name of ['Dockerfile', 'leafturn.service', 'mosquitto.conf']) {
    expect(existsSync(join(PACKAGE_ROOT, name))).toBe(false);
    expect(existsSync(join(PACKAGE_CONFIG, name))).toBe(true);
  }
});
