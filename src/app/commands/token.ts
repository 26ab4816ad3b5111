import { randomBytes } from 'node:crypto';
import { LeafturnError } from '../../domain/errors.js';
import type { Role } from '../../http/deps.js';
import { hashToken } from '../../http/tokens.js';
import { hashPassword } from '../../ingest/passwords.js';
import { configFor } from './check-config.js';
import { EXIT } from './exit-codes.js';
import { type CommandIo, complain, print } from './io.js';
import { withStorage } from './storage.js';

/** Long enough that nobody guesses one, short enough to type once on a tablet. */
const TOKEN_BYTES = 20;
const newToken = (): string => `lt_${randomBytes(TOKEN_BYTES).toString('base64url')}`;

export interface TokenAddOptions {
  readonly config?: string;
  readonly role: Role;
  /** Nothing is kept: lines for the site file are shown. */
  readonly print?: boolean;
}

/** `leafturn token add NAME`: the token is shown this once; only its hash is kept. */
export async function addToken(name: string, options: TokenAddOptions, io: CommandIo): Promise<number> {
  const token = newToken();
  if (options.print) {
    complain(io, 'Under access.tokens in the site file:');
    print(io, `- { name: ${JSON.stringify(name)}, role: ${options.role}, sha256: ${hashToken(token)} }`);
  } else {
    const config = configFor(options.config, io);
    await withStorage(config, async ({ access }) => {
      const taken = (await access.tokens()).some((known) => known.revokedAt === null && known.name === name);
      if (taken || config.access.tokens.some((known) => known.name === name))
        throw new LeafturnError('conflict', `There is a token ${name} already.`, [
          {
            path: 'NAME',
            expected: 'a name no other token has',
            got: name,
            mend: 'Revoke the old one, or take another name.',
          },
        ]);
      await access.add({ name, role: options.role, tokenHash: hashToken(token), createdAt: io.now() });
    });
  }
  complain(io, `The token of ${name} (${options.role}). It is not shown again:`);
  print(io, token);
  return EXIT.ok;
}

/** `leafturn token list` */
export async function listTokens(options: { config?: string }, io: CommandIo): Promise<number> {
  const config = configFor(options.config, io);
  const stored = await withStorage(config, ({ access }) => access.tokens());
  for (const { name, role } of config.access.tokens) print(io, `-\t${name}\t${role}\tin the site file`);
  for (const token of stored) {
    const state = token.revokedAt === null ? 'since' : 'revoked';
    print(
      io,
      `${token.id}\t${token.name}\t${token.role}\t${state} ${new Date(token.revokedAt ?? token.createdAt).toISOString()}`,
    );
  }
  if (config.access.tokens.length + stored.length === 0)
    complain(io, 'There are no tokens: the service answers on this machine only.');
  return EXIT.ok;
}

/** `leafturn token revoke ID` */
export async function revokeToken(id: number, options: { config?: string }, io: CommandIo): Promise<number> {
  const config = configFor(options.config, io);
  const revoked = await withStorage(config, ({ access }) => access.revoke(id, io.now()));
  if (!revoked) {
    complain(io, `There is no token ${id} in force. \`leafturn token list\` shows them.`);
    return EXIT.checkFailed;
  }
  print(io, `Token ${id} is revoked. A running service sees it within seconds.`);
  return EXIT.ok;
}

/** `leafturn token broker-user NAME`: a user of the broker inside the service. */
export async function brokerUser(name: string, io: CommandIo): Promise<number> {
  const password = newToken();
  complain(io, 'Under broker.users in the site file:');
  print(io, `- { name: ${JSON.stringify(name)}, passwordHash: "${await hashPassword(password)}" }`);
  complain(io, `The password of ${name}. It is not shown again:`);
  print(io, password);
  return EXIT.ok;
}
