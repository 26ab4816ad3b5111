import type { Config } from '../../config.js';
import { readSecret } from '../../config.js';
import { LeafturnError } from '../../domain/errors.js';
import type { Site } from '../../domain/site.js';
import { TASKS_SHOWN_FIRST } from '../../domain/tasks.js';
import { clockAt, dayInWords, isLocalDay, localDayOf } from '../../domain/time.js';
import type { LineAdvice, Round } from '../../domain/verdict.js';
import { capital, count, headline, litres, taskFacts, taskHeadline } from '../../web/words.js';
import { chosenSites, configFor } from './check-config.js';
import { EXIT } from './exit-codes.js';
import { type CommandIo, complain, print } from './io.js';
import { withStorage } from './storage.js';

export interface ListOptions {
  readonly config?: string;
  readonly site?: string;
  readonly day?: string;
  readonly url?: string;
  readonly json?: boolean;
}

/**
 * `leafturn list`: today's list as text. The running service is asked; where none runs, the last list in the database
 * is shown, and its age is said.
 */
export async function listCommand(options: ListOptions, io: CommandIo): Promise<number> {
  const config = configFor(options.config, io);
  if (options.day !== undefined && !isLocalDay(options.day))
    throw new LeafturnError('invalid-input', 'That is not a day.', [
      { path: '--day', expected: 'a date such as 2026-10-25', got: options.day },
    ]);
  const sites = chosenSites(config, options.site);
  const rounds: { site: Site; round: Round | undefined }[] = [];
  for (const site of sites) rounds.push({ site, round: await roundOf(site, config, options, io) });
  if (options.json) {
    print(
      io,
      JSON.stringify(
        rounds.map(({ site, round }) => round ?? { siteId: site.id, round: null }),
        null,
        2,
      ),
    );
  } else {
    for (const { site, round } of rounds)
      print(io, round ? roundText(site, round, io.now()) : `${site.name}: there is no list of that day.`);
  }
  return rounds.every(({ round }) => round !== undefined) ? EXIT.ok : EXIT.checkFailed;
}

async function roundOf(site: Site, config: Config, options: ListOptions, io: CommandIo): Promise<Round | undefined> {
  const { host, port } = config.server;
  const base = options.url ?? `http://${['0.0.0.0', '::'].includes(host) ? '127.0.0.1' : host}:${port}`;
  const answer = await askService(`${base}/api/v1/sites/${site.id}/rounds/${options.day ?? 'today'}`, io);
  if (answer !== 'nobody') return answer;
  if (options.url !== undefined)
    throw new LeafturnError('broker-failed', `Nobody answers at ${options.url}.`, [
      { path: '--url', expected: 'the address of a running service', got: options.url },
    ]);
  complain(io, `The service does not answer at ${base}; this is the last list in ${config.storage.path}.`);
  return withStorage(
    config,
    async ({ rounds }) => {
      const day = options.day ?? (await rounds.latestDay(site.id, localDayOf(site.zone, io.now())));
      return day === undefined ? undefined : rounds.latest(site.id, day);
    },
    { mustExist: true },
  );
}

async function askService(url: string, io: CommandIo): Promise<Round | undefined | 'nobody'> {
  const tokenFile = io.env.LEAFTURN_TOKEN_FILE;
  const headers = tokenFile ? { authorization: `Bearer ${readSecret(tokenFile, 'LEAFTURN_TOKEN_FILE')}` } : {};
  let response: Response;
  try {
    response = await fetch(url, { headers, signal: AbortSignal.timeout(20_000) });
  } catch {
    return 'nobody';
  }
  if (response.status === 404) return undefined;
  if (response.status === 401 || response.status === 403)
    throw new LeafturnError('unauthenticated', 'The service wants an access token.', [
      {
        path: 'LEAFTURN_TOKEN_FILE',
        expected: 'a file with a token that may read',
        got: tokenFile ?? 'nothing',
        mend: 'Make a token with `leafturn token add NAME --role read` and keep it in a file.',
      },
    ]);
  if (!response.ok)
    throw new LeafturnError(
      'broker-failed',
      `The service answered ${response.status} at ${url}: ${await response.text()}`,
    );
  return (await response.json()) as Round;
}

/** The list as a person reads it in a terminal or on paper. */
export function roundText(site: Site, round: Round, now: number): string {
  const lines: string[] = [];
  const made = `made at ${clockAt(site.zone, round.madeAt)}, revision ${round.revision}`;
  lines.push(`${site.name}: ${dayInWords(round.day)} (${made})`);
  if (round.day !== localDayOf(site.zone, now))
    lines.push(`This is not today’s list. Today is ${dayInWords(localDayOf(site.zone, now))}.`);
  const { full, light, none, postponed, inspect } = round.counts;
  lines.push(
    `${count(full, 'full drink')}, ${count(light, 'light drink')}, ${none} dry, ${postponed} put off, ${inspect} to look at first.`,
  );
  if (round.look.length > 0) {
    lines.push('', 'Look at these first:');
    for (const look of round.look)
      lines.push(`  ${look.batchName} (${look.benchName}): ${look.lookFor}`, `    ${look.why}`);
  }
  for (const house of round.houses) {
    lines.push('', `${house.name}. ${house.climate.sentence}`);
    if (house.shade) {
      const { sentence, benches, warnings } = house.shade;
      lines.push(...[sentence, ...benches.map((bench) => bench.sentence), ...warnings].map((text) => `  ${text}`));
    }
    for (const line of house.lines) lines.push(...lineText(line));
  }
  lines.push(...tasksText(site, round));
  return lines.join('\n');
}

function tasksText(site: Site, { day, tasks }: Round): string[] {
  if (tasks.length === 0) return [];
  const first = tasks.slice(0, TASKS_SHOWN_FIRST);
  const shown = first.flatMap((task) => [
    `  ${taskHeadline(task)}${task.done ? ' (done today)' : ''}. ${taskFacts(site.zone, day, task).join(' · ')}`,
    `    ${task.reason}`,
    `    ${task.text}`,
  ]);
  const more = tasks.length - first.length;
  const cautions = [...new Set(first.flatMap(({ caution }) => caution ?? []))].map((caution) => `  ${caution}`);
  return ['', 'Also due:', ...shown, ...(more > 0 ? [`  And ${count(more, 'more task')}.`] : []), ...cautions];
}

function lineText(line: LineAdvice): string[] {
  const water = line.litres > 0 ? ` (${litres(line.litres)})` : '';
  const lines = [`  ${line.name}: ${line.sentence}${water}`];
  const dry = line.batches.filter(({ verdict }) => headline(verdict) === 'Leave dry');
  for (const batch of line.batches.filter((one) => !dry.includes(one))) {
    lines.push(`    ${headline(batch.verdict)}: ${batch.name}, ${count(batch.potCount, 'pot')}, ${batch.benchName}`);
    lines.push(`      ${capital(batch.verdict.sentence)}`);
  }
  if (dry.length > 0) lines.push(`    Leave dry: ${dry.map(({ name }) => name).join('; ')}`);
  return lines;
}
