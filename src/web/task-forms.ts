import { z } from 'zod';
import { type Collection, isLiving } from '../domain/collection.js';
import { LeafturnError } from '../domain/errors.js';
import type { JournalEventInput } from '../domain/journal.js';
import { type DueTask, TASK_REACH } from '../domain/tasks.js';
import { isLocalDay } from '../domain/time.js';
import type { Round } from '../domain/verdict.js';
import { undoFormSchema } from './forms.js';

/** Cut roots keep the pots dry for a while, so a repotting says which it was. */
const ROOTS = ['cut', 'whole'] as const;
export type Roots = (typeof ROOTS)[number];

/** What a button of the second list says: the task by its id on the list, `repot-north-1/cut`. */
export const taskValue = ({ id }: Pick<DueTask, 'id'>, roots?: Roots): string => (roots ? `${id}/${roots}` : id);

const { key, back, ago } = undoFormSchema.shape;
export const taskFormSchema = z.object({
  key,
  back,
  ago,
  /** The list the person saw: one made anew in between does not change what was noted. */
  day: z.string().refine(isLocalDay, 'a date such as 2026-10-25'),
  revision: z.coerce.number().int().min(1),
  task: z
    .string()
    .regex(new RegExp(`^[a-z0-9-]{1,120}(/(${ROOTS.join('|')}))?$`), 'a button of the list; open the list again')
    .transform((text) => {
      const [id = '', roots] = text.split('/');
      return { id, ...(roots && { roots: roots as Roots }) };
    }),
});
export type TaskForm = z.infer<typeof taskFormSchema>;

/** The entry a tap makes. Batches that ended since the list was made are left out. */
export function taskEvent(
  { task: { id, roots } }: TaskForm,
  round: Round | undefined,
  collection: Collection,
): JournalEventInput {
  const task = round?.tasks.find((one) => one.id === id);
  if (!task)
    throw new LeafturnError('conflict', 'This task is on no list that is kept. Open the list again and note it there.');
  if (TASK_REACH[task.kind] === 'house' && task.houseId !== null)
    return { kind: 'task-done', task: task.kind, houseId: task.houseId };
  const batchIds = task.benches
    .flatMap((bench) => bench.batchIds)
    .filter((batchId) => {
      const batch = collection.batches.get(batchId);
      return batch !== undefined && isLiving(batch);
    });
  if (batchIds.length === 0)
    throw new LeafturnError('conflict', 'The batches of this task have ended. Open the list again.');
  return task.kind === 'repot'
    ? { kind: 'repotting', batchIds, rootsCut: roots !== 'whole' }
    : { kind: 'task-done', task: task.kind, batchIds };
}
