/**
 * Chance that can be asked for any place in a stream: the same seed, stream and number always give the same value, so
 * that the demo can go on after a restart without replaying what went before.
 */

/** A well-mixed 32-bit number from the parts. */
export function mixed(...parts: readonly (number | string)[]): number {
  let hash = 0x811c9dc5;
  const take = (value: number): void => {
    hash = Math.imul(hash ^ value, 0x85ebca6b);
    hash ^= hash >>> 13;
    hash = Math.imul(hash, 0xc2b2ae35);
    hash ^= hash >>> 16;
  };
  for (const part of parts) {
    if (typeof part === 'number') take(part | 0);
    else for (let i = 0; i < part.length; i++) take(part.charCodeAt(i));
    // Marks the end of a part, so that ('ab', 'c') and ('a', 'bc') differ.
    take(0x9e3779b9);
  }
  return hash >>> 0;
}

export type Chance = (n: number) => number;

/** Evenly from 0 up to 1. */
export function even(seed: number, stream: string): Chance {
  const key = mixed(seed, stream);
  return (n) => mixed(key, n) / 4_294_967_296;
}

/** Normal with mean 0 and standard deviation 1, by the Box-Muller transform. */
export function normal(seed: number, stream: string): Chance {
  const first = even(seed, `${stream}/radius`);
  const second = even(seed, `${stream}/angle`);
  return (n) => Math.sqrt(-2 * Math.log(1 - first(n))) * Math.cos(2 * Math.PI * second(n));
}

/**
 * Noise with memory: a first-order autoregression of standard deviation 1, x(n) = memory x(n-1) + innovation, summed
 * over as many past innovations as still matter.
 * @param memory correlation of neighbours, 0 up to 0.95
 */
export function withMemory(seed: number, stream: string, memory: number): Chance {
  const innovation = normal(seed, stream);
  const terms = Math.max(1, Math.ceil(Math.log(1e-4) / Math.log(Math.max(memory, 1e-4))));
  const scale = Math.sqrt(1 - memory * memory);
  return (n) => {
    let sum = 0;
    let weight = scale;
    for (let back = 0; back < terms; back++) {
      sum += weight * innovation(n - back);
      weight *= memory;
    }
    return sum;
  };
}

/** One of the entries. */
export const pick = <T>(entries: readonly T[], chance: number): T =>
  entries[Math.min(entries.length - 1, Math.floor(chance * entries.length))] as T;
