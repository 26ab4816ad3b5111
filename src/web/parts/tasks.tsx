import { TASKS_SHOWN_FIRST } from '../../domain/tasks.js';
import { clockAt, dayInWords, type LocalDay } from '../../domain/time.js';
import type { Round } from '../../domain/verdict.js';
import { type Roots, taskValue } from '../task-forms.js';
import type { TaskView } from '../tasks-view.js';
import { capital, count, taskDoneWords, taskFacts, taskHeadline } from '../words.js';
import type { PageContext } from './context.js';
import { Icon } from './icons.js';
import { limitsPath, sitePath } from './layout.js';
import { UndoButton } from './row.js';

/** Buttons of the section belong to one form. */
const TASK_FORM = 'task';
/** A line of a bench does not name more batches than that. */
const NAMES_TOLD = 12;
/** Nor does a task name more benches. */
const BENCHES_TOLD = 20;

interface TaskProps {
  readonly view: TaskView;
  readonly page: PageContext;
  /** Of the list. */
  readonly day: LocalDay;
}

const DoneButton = ({ view: { task }, roots, children }: TaskProps & { roots?: Roots; children: string }) => (
  <button
    type="submit"
    form={TASK_FORM}
    name="task"
    value={taskValue(task, roots)}
    class={roots ? undefined : 'strong'}
    aria-label={`${children}: ${taskHeadline(task)}${task.houseName ? `, ${task.houseName}` : ''}`}
  >
    {children}
  </button>
);

const Buttons = (props: TaskProps) => {
  if (!props.page.reader.mayWrite) return null;
  return (
    <div class="buttons">
      {props.view.task.kind === 'repot' ? (
        <>
          <DoneButton {...props} roots="cut">
            Done, roots cut
          </DoneButton>
          <DoneButton {...props} roots="whole">
            Done, roots whole
          </DoneButton>
        </>
      ) : (
        <DoneButton {...props}>Done</DoneButton>
      )}
    </div>
  );
};

const Names = ({ names }: Pick<TaskView, 'names'>) => (
  <>
    {names.slice(0, BENCHES_TOLD).map(({ benchName, names: all }) => (
      <p>
        <b>{benchName}:</b> {all.slice(0, NAMES_TOLD).join('; ')}
        {all.length > NAMES_TOLD && ` and ${all.length - NAMES_TOLD} more`}
      </p>
    ))}
    {names.length > BENCHES_TOLD && <p>And {count(names.length - BENCHES_TOLD, 'more bench', 'more benches')}.</p>}
  </>
);

const Task = ({ view, page, day }: TaskProps) => {
  const { task, names, done } = view;
  const id = `t-${task.id}`;
  if (done)
    return (
      <li id={id} class="row is-done" tabIndex={-1}>
        <p class="done-name">
          <Icon name="tick" />
          <b>{taskHeadline(task)}</b>
        </p>
        <p>
          {capital(taskDoneWords(task.kind))} at {clockAt(page.site.zone, done.at)} by {done.by}
          {task.houseName && `, ${task.houseName}`}
        </p>
        {page.reader.mayWrite && done.entryId !== undefined && (
          <div class="buttons">
            <UndoButton done={{ entryId: done.entryId }} of={taskHeadline(task)} />
          </div>
        )}
      </li>
    );
  return (
    <li id={id} class="row k-task" tabIndex={-1}>
      <p class="verdict">
        <Icon name="task" />
        <span class="verdict-words">{taskHeadline(task)}</span>
      </p>
      {taskFacts(page.site.zone, day, task).map((words) => (
        <span class="facts">{words}</span>
      ))}
      <details class="why">
        <summary>Why and how{names.length > 0 && ', and which plants'}</summary>
        <p>{task.reason}</p>
        <p>{task.text}</p>
        {task.caution && <p class="caution">{task.caution}</p>}
        {task.dueSince && <p>Due since {dayInWords(task.dueSince)}.</p>}
        <Names names={names} />
        <p class="source">Source: {task.source}</p>
        {task.houseId !== null && (
          <a class="act" href={`${limitsPath(page.site.id, task.houseId)}#s-tasks`}>
            Not wanted in this house?
          </a>
        )}
      </details>
      <Buttons view={view} page={page} day={day} />
    </li>
  );
};

/** The rest of the work, under the watering: the first few, the others counted and folded. */
export const Tasks = ({
  tasks,
  page,
  round,
  printed,
}: {
  tasks: readonly TaskView[];
  page: PageContext;
  round: Pick<Round, 'day' | 'revision'>;
  /** Date and revision, repeated on every printed page. */
  printed: string;
}) => {
  const first = tasks.slice(0, TASKS_SHOWN_FIRST);
  const more = tasks.slice(TASKS_SHOWN_FIRST);
  const rows = (some: readonly TaskView[]) => some.map((view) => <Task view={view} page={page} day={round.day} />);
  return (
    <section class="sheet" id="due" aria-labelledby={tasks.length > 0 ? 'due-head' : undefined} tabIndex={-1}>
      {tasks.length > 0 && (
        <>
          <header class="sheet-head house-head">
            <h2 id="due-head">Also due</h2>
            <p class="printed">{printed}</p>
          </header>
          <div class="sheet-body">
            {page.reader.mayWrite && (
              <form id={TASK_FORM} method="post" action={`${sitePath(page.site.id)}/tasks`} data-outbox>
                <input type="hidden" name="key" value={page.key} />
                <input type="hidden" name="day" value={round.day} />
                <input type="hidden" name="revision" value={round.revision} />
                <input type="hidden" name="back" value={sitePath(page.site.id)} />
              </form>
            )}
            <ol class="rows">{rows(first)}</ol>
            {more.length > 0 && (
              <details class="more-tasks" id="more-tasks">
                <summary>And {count(more.length, 'more task')}</summary>
                <ol class="rows">{rows(more)}</ol>
              </details>
            )}
          </div>
        </>
      )}
    </section>
  );
};
