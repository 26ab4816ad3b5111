import { type DueTask, TASK_REACH, type TaskKind } from './tasks.js';
import { capital, count } from './wording.js';

const TASK_WORDS: Record<TaskKind, string> = {
  'harvest-capsules': 'take ripe capsules',
  pollinate: 'pollinate',
  repot: 'repot',
  sow: 'sow',
  feed: 'feed',
  'inspect-mealybugs': 'look for mealybugs',
  'inspect-mites': 'look for mites',
  'inspect-gnats': 'look for fungus gnats',
};
export const taskWords = (task: TaskKind): string => TASK_WORDS[task];

/** `Repot 4 batches` */
export const taskHeadline = (task: Pick<DueTask, 'kind' | 'batches' | 'groupNames'>): string => {
  const what = capital(taskWords(task.kind));
  if (task.kind === 'sow') return `${what}: ${task.groupNames.join(', ')}`;
  if (TASK_REACH[task.kind] === 'house') return what;
  const batches = count(task.batches, 'batch', 'batches');
  return task.kind === 'harvest-capsules' ? `${what} of ${batches}` : `${what} ${batches}`;
};
