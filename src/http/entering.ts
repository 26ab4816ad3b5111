import type { FastifyReply, FastifyRequest } from 'fastify';
import { z } from 'zod';
import type { Draft } from '../advice/keeper.js';
import { LeafturnError } from '../domain/errors.js';
import { type JournalEntry, type JournalEvent, type JournalKind, journalEventSchema } from '../domain/journal.js';
import type { Site } from '../domain/site.js';
import { callerOf, mayAct } from './access.js';
import { sendCreated } from './answers.js';
import type { ServiceDeps } from './deps.js';
import { instantFrom } from './lookup.js';
import { HttpProblem } from './problem.js';
import { writtenInstant } from './schemas/common.js';
import { viewOfEntry } from './views.js';

type EventForm = (typeof journalEventSchema)['options'][number];
type FormOf<K extends JournalKind> = Extract<EventForm, { shape: { kind: z.ZodLiteral<K> } }>;

/** The schema of one kind of event. */
export function formOf<K extends JournalKind>(kind: K): FormOf<K> {
  const form = journalEventSchema.options.find((option) => option.shape.kind.value === kind);
  if (!form) throw new Error(`There is no kind of event ${kind}.`);
  return form as FormOf<K>;
}

/** What may stand beside the fields of any event. */
export const whenAndNote = {
  happenedAt: writtenInstant.optional().describe('When it happened; left out: now.'),
  note: z.string().trim().min(1).max(2000).optional().describe('Anything worth remembering about it.'),
};
interface WhenAndNote {
  readonly happenedAt?: string | number | undefined;
  readonly note?: string | undefined;
}

/** Kinds that change the layout of the place rather than tell of the plants. */
const OWNER_KINDS: readonly JournalKind[] = ['bench-added', 'bench-changed'];
export const roleFor = (kind: JournalKind) => (OWNER_KINDS.includes(kind) ? 'owner' : 'staff');

export interface Posted {
  readonly event: JournalEvent;
  readonly when: WhenAndNote;
}

/** An event out of a body that holds its fields and, beside them, when it happened and a note. */
export function split({ happenedAt, note, ...event }: WhenAndNote & Record<string, unknown>): Posted {
  return { event: event as JournalEvent, when: { happenedAt, note } };
}

/**
 * Enters what was posted and answers with the entries.
 * @param place rewrites a path of the keeper (`/0/batchIds/3`) to where the field stands in the body
 */
export async function enter(
  deps: ServiceDeps,
  site: Site,
  request: FastifyRequest,
  posted: readonly Posted[],
  place: (path: string) => string,
): Promise<JournalEntry[]> {
  const caller = callerOf(request);
  for (const { event } of posted) {
    const role = roleFor(event.kind);
    if (!mayAct(caller, role))
      throw new HttpProblem(
        'forbidden',
        `${event.kind} needs the role ${role}; ${caller.name} has the role ${caller.role}.`,
      );
  }
  const drafts = posted.map(({ event, when }, index): Draft => {
    const path = place(`/${index}/happenedAt`);
    const happenedAt =
      when.happenedAt === undefined ? undefined : instantFrom(when.happenedAt, site.zone, { path, part: 'body' });
    return { event, happenedAt, note: when.note };
  });
  try {
    return await deps.keeper.recordDrafts(site.id, drafts, {
      by: caller.name,
      requestKey: request.idempotencyKey ?? undefined,
    });
  } catch (error) {
    if (!(error instanceof LeafturnError)) throw error;
    const problems = error.problems.map((problem) => ({ ...problem, path: place(problem.path) }));
    throw new LeafturnError(error.code, error.message, problems, { cause: error });
  }
}

/** The body was one event: its fields stand at the top. */
export const oneEvent = (path: string): string => path.replace(/^\/0(?=\/|$)/, '');
export const manyEvents = (path: string): string => path;

const NONE_UNDONE: ReadonlyMap<number, number> = new Map();

export const sendEntered = (reply: FastifyReply, entries: readonly JournalEntry[], more: object = {}): FastifyReply =>
  sendCreated(reply, { entries: entries.map((entry) => viewOfEntry(entry, NONE_UNDONE)), ...more });
