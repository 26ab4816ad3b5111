import { createHmac, randomBytes, type ScryptOptions, scrypt, timingSafeEqual } from 'node:crypto';

/**
 * Passwords of broker users as scrypt hashes (RFC 7914), with their parameters beside them: `scrypt$N$r$p$salt$hash`.
 * N = 2^15, r = 8, p = 3 is one of the settings of the OWASP Password Storage Cheat Sheet.
 */
const COST = 2 ** 15;
const BLOCK = 8;
const PARALLEL = 3;
const KEY_BYTES = 32;
const FORM = /^scrypt\$(\d{1,8})\$(\d{1,3})\$(\d{1,3})\$([A-Za-z0-9+/=]{8,128})\$([A-Za-z0-9+/=]{16,256})$/;
/** Many devices may come back at once after a power cut; more than this waiting is an attack. */
const MAX_WAITING = 1000;

interface Hash {
  readonly cost: number;
  readonly block: number;
  readonly parallel: number;
  readonly salt: Buffer;
  readonly key: Buffer;
}

function parseHash(text: string): Hash | undefined {
  const parts = FORM.exec(text);
  if (!parts) return undefined;
  const [, cost, block, parallel, salt = '', key = ''] = parts;
  const hash = { cost: Number(cost), block: Number(block), parallel: Number(parallel) };
  const powerOfTwo = hash.cost >= 2 && (hash.cost & (hash.cost - 1)) === 0;
  if (
    !powerOfTwo ||
    hash.cost > 2 ** 20 ||
    hash.block < 1 ||
    hash.block > 32 ||
    hash.parallel < 1 ||
    hash.parallel > 16
  )
    return undefined;
  return { ...hash, salt: Buffer.from(salt, 'base64'), key: Buffer.from(key, 'base64') };
}
export const isPasswordHash = (text: string): boolean => parseHash(text) !== undefined;

// One at a time: each takes tens of megabytes for a moment.
let line: Promise<unknown> = Promise.resolve();
let waiting = 0;

function derive(password: string | Buffer, hash: Omit<Hash, 'key'>, bytes: number): Promise<Buffer> {
  const options: ScryptOptions = {
    N: hash.cost,
    r: hash.block,
    p: hash.parallel,
    maxmem: 256 * hash.cost * hash.block,
  };
  const work = () =>
    new Promise<Buffer>((resolve, reject) =>
      scrypt(password, hash.salt, bytes, options, (error, key) => (error ? reject(error) : resolve(key))),
    );
  waiting++;
  const result = line.then(work, work).finally(() => waiting--);
  line = result.catch(() => {});
  return result;
}

export async function hashPassword(password: string): Promise<string> {
  const salt = randomBytes(16);
  const key = await derive(password, { cost: COST, block: BLOCK, parallel: PARALLEL, salt }, KEY_BYTES);
  return `scrypt$${COST}$${BLOCK}$${PARALLEL}$${salt.toString('base64')}$${key.toString('base64')}`;
}

export async function verifyPassword(password: string | Buffer, stored: string): Promise<boolean> {
  const hash = parseHash(stored);
  if (!hash) return false;
  return timingSafeEqual(await derive(password, hash, hash.key.length), hash.key);
}

export interface BrokerUser {
  readonly name: string;
  readonly passwordHash: string;
}

/** Who may connect. A password once verified is known again by a keyed digest, so that reconnecting costs nothing. */
export class UserBook {
  readonly #users: ReadonlyMap<string, string>;
  readonly #known = new Map<string, Buffer>();
  readonly #key = randomBytes(32);
  readonly #decoy: Promise<string>;

  constructor(users: readonly BrokerUser[]) {
    this.#users = new Map(users.map((user) => [user.name, user.passwordHash]));
    // An unknown name takes as long as a wrong password, so that names cannot be found out.
    this.#decoy = users.length > 0 ? hashPassword(randomBytes(16).toString('hex')) : Promise.resolve('');
  }

  get size(): number {
    return this.#users.size;
  }

  /** `busy`: too many are waiting to be checked; try again later. */
  async check(name: string | undefined, password: Buffer | undefined): Promise<'yes' | 'no' | 'busy'> {
    if (name === undefined || password === undefined) return 'no';
    const digest = createHmac('sha256', this.#key).update(password).digest();
    const known = this.#known.get(name);
    if (known && timingSafeEqual(known, digest)) return 'yes';
    if (waiting >= MAX_WAITING) return 'busy';
    const stored = this.#users.get(name);
    const right = await verifyPassword(password, stored ?? (await this.#decoy));
    if (!right || stored === undefined) return 'no';
    this.#known.set(name, digest);
    return 'yes';
  }
}
