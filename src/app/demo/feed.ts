import type { Keeper } from '../../advice/keeper.js';
import type { Intake, Taken } from '../../ingest/intake.js';
import type { Storage } from '../../storage/repositories.js';
import type { AppendJournal, CommitMessages } from './demo.js';

/** The demo's history goes the way every message and every entry goes: checked by the intake and by the keeper. */

export const commitThrough =
  (intake: Intake, readings: Storage['readings']): CommitMessages =>
  async (messages) => {
    const taken: Taken = { readings: [], refusals: [] };
    for (const { topic, payload, receivedAt } of messages)
      intake.take({ topic, payload: Buffer.from(payload), qos: 1, retain: false, receivedAt }, taken);
    await readings.commit({ ...taken, messages: messages.length });
  };

export const appendThrough =
  (keeper: Pick<Keeper, 'recordDrafts'>): AppendJournal =>
  (siteId, drafts, meta) =>
    keeper.recordDrafts(siteId, drafts, meta);

/** Where a demo stands in this database: when it began, and the newest reading; undefined where there is none yet. */
export async function demoStanding(
  storage: Pick<Storage, 'journal' | 'readings'>,
  siteIds: readonly string[],
): Promise<{ begunAt: number; since: number } | undefined> {
  const firsts = await Promise.all(
    siteIds.map(async (siteId) => (await storage.journal.list({ siteId, afterId: 0, limit: 1 }))[0]?.happenedAt),
  );
  const heard = await Promise.all(siteIds.map((siteId) => storage.readings.series({ siteId })));
  const begun = firsts.filter((at) => at !== undefined);
  const lasts = heard.flat().flatMap(({ lastAt }) => (lastAt === null ? [] : [lastAt]));
  if (begun.length === 0 || lasts.length === 0) return undefined;
  return { begunAt: Math.min(...begun), since: Math.max(...lasts) };
}
