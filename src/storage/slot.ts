/** Readings are kept by ten minutes: the reason and the measurement stand in the first migration. */
const SLOT_MS = 600_000;
export const slotOf = (atMs: number): number => Math.floor(atMs / SLOT_MS);
export const slotStart = (slot: number): number => slot * SLOT_MS;
