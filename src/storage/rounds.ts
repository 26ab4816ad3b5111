import type { Kysely } from 'kysely';
import type { LocalDay } from '../domain/time.js';
import type { Round } from '../domain/verdict.js';
import { packFacts, packRound, unpackFacts, unpackRound } from './pack.js';
import type { RoundStore } from './repositories.js';
import type { Tables } from './schema.js';

/** Newest rounds in memory: one a site, for more sites than anyone has. */
const KEPT_ROUNDS = 16;

export function createRoundStore(db: Kysely<Tables>): RoundStore {
  /** Newest revision of a site's newest day that was saved or asked for. */
  const newest = new Map<string, Round>();
  const remember = (round: Round): Round => {
    newest.delete(round.siteId);
    newest.set(round.siteId, round);
    if (newest.size > KEPT_ROUNDS) newest.delete(newest.keys().next().value as string);
    return round;
  };

  const roundOf = async (row: { revision: number; round_deflated: Uint8Array }): Promise<Round> => ({
    ...(await unpackRound(row.round_deflated)),
    revision: row.revision,
  });
  const lastRow = (siteId: string, day: LocalDay) =>
    db.selectFrom('rounds').where('site_id', '=', siteId).where('day', '=', day).orderBy('revision', 'desc').limit(1);

  const rowOf = (siteId: string, day: LocalDay, revision: number) =>
    db.selectFrom('rounds').where('site_id', '=', siteId).where('day', '=', day).where('revision', '=', revision);

  return {
    async save(round, facts) {
      // Before the transaction: packing takes its time and lets others through.
      const [roundDeflated, factsDeflated] = await Promise.all([packRound(round), packFacts(facts)]);
      const { siteId, day, madeAt } = round;
      const revision = await db.transaction().execute(async (transaction) => {
        const last = await transaction
          .selectFrom('rounds')
          .select((eb) => eb.fn.max('revision').as('revision'))
          .where('site_id', '=', siteId)
          .where('day', '=', day)
          .executeTakeFirst();
        const next = (last?.revision ?? 0) + 1;
        await transaction
          .insertInto('rounds')
          .values({
            site_id: siteId,
            day,
            revision: next,
            made_at: madeAt,
            round_deflated: roundDeflated,
            facts_deflated: factsDeflated,
          })
          .execute();
        return next;
      });
      const saved: Round = { ...round, revision };
      const known = newest.get(siteId);
      // Two may be saved at once: the later revision stays.
      if (!known || day > known.day || (day === known.day && revision > known.revision)) remember(saved);
      return saved;
    },

    async latest(siteId, day) {
      const known = newest.get(siteId);
      const row = await lastRow(siteId, day).select('revision').executeTakeFirst();
      if (!row) return undefined;
      if (known?.day === day && known.revision === row.revision) return known;
      const full = await lastRow(siteId, day).select(['revision', 'round_deflated']).executeTakeFirst();
      if (!full) return undefined;
      const round = await roundOf(full);
      return !known || day >= known.day ? remember(round) : round;
    },

    async get(siteId, day, revision) {
      const row = await rowOf(siteId, day, revision)
        .select(['revision', 'round_deflated', 'facts_deflated'])
        .executeTakeFirst();
      if (!row) return undefined;
      const [round, facts] = await Promise.all([roundOf(row), unpackFacts(row.facts_deflated)]);
      return { round, facts };
    },

    async facts(siteId, day, revision) {
      const row = await rowOf(siteId, day, revision).select('facts_deflated').executeTakeFirst();
      return row && unpackFacts(row.facts_deflated);
    },

    async latestDay(siteId, upTo) {
      const row = await db
        .selectFrom('rounds')
        .select((eb) => eb.fn.max('day').as('day'))
        .where('site_id', '=', siteId)
        .where('day', '<=', upTo)
        .executeTakeFirst();
      return row?.day ?? undefined;
    },

    async days(siteId, { before, limit }) {
      let newestOfDay = db
        .selectFrom('rounds')
        .select((eb) => ['day', eb.fn.max('revision').as('revision')])
        .where('site_id', '=', siteId)
        .groupBy('day')
        .orderBy('day', 'desc')
        .limit(limit);
      if (before !== undefined) newestOfDay = newestOfDay.where('day', '<', before);
      return db
        .with('newest', () => newestOfDay)
        .selectFrom('newest')
        .innerJoin('rounds', (join) =>
          join.onRef('rounds.day', '=', 'newest.day').onRef('rounds.revision', '=', 'newest.revision'),
        )
        .select(['rounds.day', 'rounds.revision', 'rounds.made_at as madeAt'])
        .where('rounds.site_id', '=', siteId)
        .orderBy('rounds.day', 'desc')
        .execute();
    },
  };
}
