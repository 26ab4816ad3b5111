import type { Amount } from '../../domain/plants.js';
import { clockAt } from '../../domain/time.js';
import { type TickItem, tickValue } from '../forms.js';
import type { RowDone, RowView } from '../today-view.js';
import {
  alertWords,
  amountWords,
  answerWords,
  count,
  drinkHints,
  drinkWords,
  headline,
  litres,
  lookWords,
  type RowKind,
} from '../words.js';
import type { PageContext } from './context.js';
import { Icon } from './icons.js';
import { batchPath, benchPath, sitePath } from './layout.js';
import { Reason } from './reason.js';

/** Buttons of the whole page belong to two forms: one notes drinks, one takes a note back. */
export const TICK_FORM = 'tick';
export const UNDO_FORM = 'undo';

export const PageForms = ({ page, day, back }: { page: PageContext; day: string; back: string }) =>
  page.reader.mayWrite ? (
    <>
      <form id={TICK_FORM} method="post" action={`${sitePath(page.site.id)}/ticks`} data-outbox>
        <input type="hidden" name="key" value={page.key} />
        <input type="hidden" name="day" value={day} />
        <input type="hidden" name="back" value={back} />
      </form>
      <UndoForm page={page} back={back} />
    </>
  ) : null;

/** What buttons of `UndoButton` send. */
export const UndoForm = ({ page, back }: { page: PageContext; back: string }) => (
  <form id={UNDO_FORM} method="post" action={`${sitePath(page.site.id)}/undo`} data-outbox>
    <input type="hidden" name="key" value={page.key} />
    <input type="hidden" name="back" value={back} />
  </form>
);

const advised = ({ advice }: RowView): TickItem => ({
  batchId: advice.batchId,
  amount: advice.verdict.amount,
  mlPerPot: advice.verdict.mlPerPot,
});

interface TickButtonProps {
  readonly answer: 'as-advised' | 'another-amount' | 'skipped';
  readonly items: readonly TickItem[];
  readonly lineId?: string;
  readonly strong?: boolean;
  /** Said to a screen reader after the label: which batch or line. */
  readonly of: string;
  readonly children: string;
}
export const TickButton = ({ answer, items, lineId, strong, of, children }: TickButtonProps) => (
  <button
    type="submit"
    form={TICK_FORM}
    name="tick"
    value={tickValue({ answer, items, ...(lineId && { lineId }) })}
    class={strong ? 'strong' : undefined}
    aria-label={`${children}: ${of}`}
  >
    {children}
  </button>
);

export const UndoButton = ({ done, of }: { done: Pick<RowDone, 'entryId'>; of: string }) => (
  <button type="submit" form={UNDO_FORM} name="entry" value={String(done.entryId)} aria-label={`Undo: ${of}`}>
    Undo
  </button>
);

export const advisedItems = (rows: readonly RowView[]): TickItem[] => rows.map(advised);
export const skippedItems = (rows: readonly RowView[]): TickItem[] =>
  rows.map(({ advice }) => ({ batchId: advice.batchId, amount: 'none' }));

/** What was done, in words: `Done as advised 07:12 by Ada: full drink, 35 mL a pot`. */
export function doneWords(zone: string, done: RowDone): string {
  const head = `${answerWords(done.answer)} at ${clockAt(zone, done.at)}`;
  return done.amount === 'none'
    ? head
    : `${head}: ${drinkWords(done.amount, done.mlPerPot).toLowerCase().replace(/ ml/g, ' mL')}`;
}

const instead = (amount: Amount): Amount[] =>
  amount === 'full' ? ['light'] : amount === 'light' ? ['full'] : ['light', 'full'];

/** The buttons of one batch. One tap notes it; what was not advised is there too, because it happens. */
export const RowButtons = ({ row, page }: { row: RowView; page: PageContext }) => {
  if (!page.reader.mayWrite) return null;
  const { advice } = row;
  const others = instead(advice.verdict.amount);
  const drinks = advice.verdict.amount !== 'none';
  return (
    <div class="buttons">
      {drinks && (
        <TickButton answer="as-advised" items={[advised(row)]} strong of={advice.name}>
          Done as advised
        </TickButton>
      )}
      {others.map((amount) => (
        <TickButton answer="another-amount" items={[{ batchId: advice.batchId, amount }]} of={advice.name}>
          {drinks ? `Gave ${amount === 'full' ? 'a full' : 'a light'} drink` : `Gave a ${amountWords(amount)}`}
        </TickButton>
      ))}
      {drinks && (
        <TickButton answer="skipped" items={skippedItems([row])} of={advice.name}>
          Skipped
        </TickButton>
      )}
    </div>
  );
};

export const NoteLink = ({ page, batchId, name }: { page: PageContext; batchId: string; name: string }) =>
  page.reader.mayWrite ? (
    <a
      class="act"
      href={`${sitePath(page.site.id)}/note?batch=${batchId}`}
      data-note={name}
      aria-label={`Note what you saw: ${name}`}
    >
      Note what you saw
    </a>
  ) : null;

export const BenchNoteLink = ({ page, benchId, name }: { page: PageContext; benchId: string; name: string }) =>
  page.reader.mayWrite ? (
    <a class="act" href={`${sitePath(page.site.id)}/note?bench=${benchId}`} data-note={name} data-note-bench={benchId}>
      Note what you saw on this bench
    </a>
  ) : null;

const RowName = ({ row, page, inBench }: { row: RowView; page: PageContext; inBench: boolean }) => {
  const { advice } = row;
  return (
    <>
      <a class="name" href={batchPath(page.site.id, advice.batchId)}>
        {advice.name}
      </a>
      <span class="facts">
        {count(advice.potCount, 'pot')}
        {!inBench && ` · ${advice.benchName}`}
        {advice.litres > 0 && ` · ${litres(advice.litres)} in all`}
      </span>
    </>
  );
};

function whyLabel(kind: RowKind, page: PageContext): string {
  if (!page.reader.mayWrite) return 'Why';
  return kind === 'look' ? 'Why, or note a drink' : 'Why, or note what you saw';
}

interface BatchRowProps {
  readonly row: RowView;
  readonly page: PageContext;
  /** Under the heading of its bench, which is then not said again. */
  readonly inBench?: boolean;
  /** On a line that runs: the line has the buttons, the batch only those for a difference. */
  readonly onRun?: boolean;
}

/** A batch that is to be watered, looked at or left waiting today. */
export const BatchRow = ({ row, page, inBench = false, onRun = false }: BatchRowProps) => {
  const { advice, kind, done } = row;
  const id = `b-${advice.batchId}`;
  if (done)
    return (
      <li id={id} class="row is-done" tabIndex={-1}>
        <p class="done-name">
          <Icon name="tick" />
          <a class="name" href={batchPath(page.site.id, advice.batchId)}>
            {advice.name}
          </a>
        </p>
        <p>{doneWords(page.site.zone, done)}</p>
        {page.reader.mayWrite && !done.lineId && (
          <div class="buttons">
            <UndoButton done={done} of={advice.name} />
          </div>
        )}
      </li>
    );
  return (
    <li id={id} class={`row k-${kind}`} tabIndex={-1}>
      <p class="verdict">
        <Icon name={kind} />
        <span class="verdict-words">{headline(advice.verdict)}</span>
        {row.was && <span class="changed">Changed, was: {row.was}</span>}
      </p>
      <RowName row={row} page={page} inBench={inBench} />
      {[...drinkHints(advice.verdict), ...advice.verdict.alerts.map(alertWords)].map((words) => (
        <span class="facts">{words}</span>
      ))}
      {kind === 'look' && advice.verdict.lookFor && <p>{lookWords(advice.verdict.lookFor)}</p>}
      <details class="why">
        <summary>{whyLabel(kind, page)}</summary>
        <Reason verdict={advice.verdict} />
        {(onRun || kind === 'wait' || kind === 'look') && <RowButtons row={row} page={page} />}
        {kind !== 'look' && <NoteLink page={page} batchId={advice.batchId} name={advice.name} />}
      </details>
      {!onRun && kind !== 'wait' && kind !== 'look' && <RowButtons row={row} page={page} />}
      {kind === 'look' && <NoteLink page={page} batchId={advice.batchId} name={advice.name} />}
    </li>
  );
};

/** A batch that stays dry, folded to one line. */
export const DryRow = ({ row, page }: { row: RowView; page: PageContext }) => {
  const { advice } = row;
  return (
    <li id={`b-${advice.batchId}`} class="dry-row" tabIndex={-1}>
      <details>
        <summary>
          <span>
            <span class="name">{advice.name}</span> <span class="facts">{count(advice.potCount, 'pot')}</span>
            {row.was && <span class="changed">Changed, was: {row.was}</span>}
          </span>
        </summary>
        <Reason verdict={advice.verdict} />
        <RowButtons row={row} page={page} />
        <NoteLink page={page} batchId={advice.batchId} name={advice.name} />
        <a class="act" href={batchPath(page.site.id, advice.batchId)}>
          Open this batch
        </a>
      </details>
    </li>
  );
};

export const BenchLink = ({ page, benchId, name }: { page: PageContext; benchId: string; name: string }) => (
  <a class="bench-link" href={benchPath(page.site.id, benchId)}>
    {name}
  </a>
);
