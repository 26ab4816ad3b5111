import type { Catalogue } from '../../domain/catalogue.js';
import { type BatchState, type BenchState, isLiving } from '../../domain/collection.js';
import { dayInWords, localDayOf } from '../../domain/time.js';
import type { BatchAdvice, Round } from '../../domain/verdict.js';
import type { HistoryRow } from '../journal-words.js';
import type { PageContext } from '../parts/context.js';
import { Icon } from '../parts/icons.js';
import { KeepBatch } from '../parts/keep-batch.js';
import { batchPath, benchPath, Layout, sitePath } from '../parts/layout.js';
import { FullTrace, otherTexts, Reason } from '../parts/reason.js';
import { doneWords, NoteLink, PageForms, RowButtons, UndoButton, UndoForm } from '../parts/row.js';
import { lastDone } from '../tasks-view.js';
import type { RowView } from '../today-view.js';
import {
  capital,
  count,
  decimal,
  drinkHints,
  firmnessWords,
  headline,
  litres,
  lookWords,
  momentInWords,
  pairWords,
  phaseWords,
  plainWords,
  shortDay,
  signWords,
  stageWords,
  taskDoneWords,
} from '../words.js';

export interface BatchProps {
  readonly page: PageContext;
  readonly batch: BatchState;
  readonly benchName: string;
  /** What the list says of it; absent: it is not on the list. */
  readonly listed?: { readonly round: Round; readonly row: RowView };
  readonly history: readonly HistoryRow[];
  readonly moreHistory: boolean;
  readonly benches: readonly BenchState[];
  readonly catalogue: Catalogue;
  readonly said?: string;
}

/** `Replacing its leaf pair, old pair splits, 80 % sure (calendar at this season).` */
export function phaseSentence(believed: BatchAdvice['phase']): string {
  if (!believed) return 'Phase not known. Note it when you look at the plants.';
  const { phase, stage, probability, from } = believed;
  const what = capital(`${phaseWords(phase)}${stage ? `, ${stageWords(stage)}` : ''}`);
  const sure = probability >= 0.995 ? '' : `, ${decimal(probability * 100, 0)} % sure`;
  return `${what}${sure} (${from}).`;
}

function lastSeenSentence(page: PageContext, seen: NonNullable<BatchAdvice['lastSeen']>): string {
  const parts = [
    seen.firmness && `body ${firmnessWords(seen.firmness)}`,
    seen.oldPair && `old pair ${pairWords(seen.oldPair)}`,
    seen.newPair && `new pair ${pairWords(seen.newPair)}`,
    ...seen.signs.map(signWords),
  ].filter(Boolean);
  const day = shortDay(localDayOf(page.site.zone, seen.at));
  return parts.length > 0 ? `Last seen ${day}: ${parts.join('; ')}.` : `Last seen ${day}.`;
}

/** An exact amount, typed in. */
const AmountForm = ({ page, batchId, day }: { page: PageContext; batchId: string; day: string }) => (
  <details id="exact">
    <summary>Note an exact amount</summary>
    <form method="post" action={`${sitePath(page.site.id)}/amounts`} data-outbox>
      <input type="hidden" name="key" value={page.key} />
      <input type="hidden" name="day" value={day} />
      <input type="hidden" name="batch" value={batchId} />
      <input type="hidden" name="back" value={batchPath(page.site.id, batchId)} />
      <p>
        <label for="ml">Millilitres a pot</label>
        <input id="ml" name="ml" type="number" inputMode="decimal" min="0" max="20000" step="any" />
      </p>
      <div class="buttons">
        <button type="submit" name="amount" value="light">
          It was a light drink
        </button>
        <button type="submit" name="amount" value="full">
          It was a full drink
        </button>
      </div>
    </form>
  </details>
);

const Listed = ({ page, listed }: { page: PageContext; listed: NonNullable<BatchProps['listed']> }) => {
  const { round, row } = listed;
  const { verdict } = row.advice;
  const others = otherTexts(verdict);
  return (
    <>
      <section class={`row k-${row.kind}`}>
        <p class="verdict">
          <Icon name={row.kind} />
          <span class="verdict-words">{headline(verdict)}</span>
        </p>
        {drinkHints(verdict).map((words) => (
          <p>{words}</p>
        ))}
        {verdict.inspect && verdict.lookFor && <p>{lookWords(verdict.lookFor)}</p>}
        <p class="facts">
          List of {dayInWords(round.day)}
          {row.advice.litres > 0 && ` · ${litres(row.advice.litres)} in all`}
        </p>
        {row.done ? (
          <>
            <p>
              <Icon name="tick" /> {doneWords(page.site.zone, row.done)}
            </p>
            {page.reader.mayWrite && (
              <div class="buttons">
                <UndoButton done={row.done} of={row.advice.name} />
              </div>
            )}
            {row.done.lineId && <p>The whole line was noted at once. Undo takes it back for every batch on it.</p>}
          </>
        ) : (
          <>
            <RowButtons row={row} page={page} />
            {page.reader.mayWrite && <AmountForm page={page} batchId={row.advice.batchId} day={round.day} />}
          </>
        )}
        <NoteLink page={page} batchId={row.advice.batchId} name={row.advice.name} />
      </section>
      <section aria-labelledby="why-head">
        <h2 id="why-head">Why</h2>
        <Reason verdict={verdict} />
        {others.length > 0 && (
          <>
            <h3>Also</h3>
            {others.map((text) => (
              <p>{text}</p>
            ))}
          </>
        )}
        <p>{phaseSentence(row.advice.phase)}</p>
        {row.advice.lastSeen && <p>{lastSeenSentence(page, row.advice.lastSeen)}</p>}
        <details class="all-rules">
          <summary>Every rule that was looked at</summary>
          <FullTrace verdict={verdict} />
        </details>
      </section>
    </>
  );
};

/** The name of an entry of the catalogue, or its id in words where it has been taken out since. */
const nameIn = (entries: readonly { readonly id: string; readonly name: string }[], id: string): string =>
  entries.find((entry) => entry.id === id)?.name ?? plainWords(id);

const About = ({
  page,
  batch,
  benchName,
  catalogue,
  groupName,
}: Pick<BatchProps, 'page' | 'batch' | 'benchName' | 'catalogue'> & { groupName: string }) => (
  <dl class="about">
    <dt>Group</dt>
    <dd>{groupName}</dd>
    <dt>Bench</dt>
    <dd>
      <a href={benchPath(page.site.id, batch.benchId)}>{benchName}</a>
    </dd>
    <dt>Pots</dt>
    <dd>
      {batch.potCount}
      {batch.lostPots > 0 && `, ${batch.lostPots} lost so far`}
    </dd>
    <dt>Pot and mix</dt>
    <dd>
      {nameIn(catalogue.pots, batch.potId)}; {nameIn(catalogue.mixes, batch.mixId)}
    </dd>
    {batch.sownOn && (
      <>
        <dt>Sown</dt>
        <dd>{dayInWords(batch.sownOn)}</dd>
      </>
    )}
    {lastDone(batch.tasksDone).map((done) => (
      <>
        <dt>{capital(taskDoneWords(done.task))}</dt>
        <dd>
          {dayInWords(localDayOf(page.site.zone, done.at))}, {done.by}
        </dd>
      </>
    ))}
    {batch.endedAt !== undefined && (
      <>
        <dt>Ended</dt>
        <dd>
          {dayInWords(localDayOf(page.site.zone, batch.endedAt))}, {batch.endReason}
        </dd>
      </>
    )}
  </dl>
);

const History = ({ page, history, moreHistory }: Pick<BatchProps, 'page' | 'history' | 'moreHistory'>) => (
  <section aria-labelledby="history-head">
    <h2 id="history-head">What was done and seen</h2>
    {history.length === 0 ? (
      <p>Nothing has been noted yet.</p>
    ) : (
      <ul class="history">
        {history.map((entry) => (
          <li>
            <p class="facts">
              {momentInWords(page.site.zone, entry.at)} · {entry.by}
            </p>
            {entry.takenBack ? (
              <p>
                <del>{entry.words}</del> Taken back.
              </p>
            ) : (
              <p>{entry.words}</p>
            )}
            {page.reader.mayWrite && entry.mayBeUndone && (
              <div class="buttons">
                <UndoButton done={{ entryId: entry.id }} of={entry.words} />
              </div>
            )}
          </li>
        ))}
      </ul>
    )}
    {moreHistory && <p>Older notes are kept too; here are the newest {count(history.length, 'note')}.</p>}
  </section>
);

export const BatchPage = (props: BatchProps) => {
  const { page, batch, benchName, listed, said } = props;
  const back = batchPath(page.site.id, batch.batchId);
  const needsUndo = page.reader.mayWrite && !listed && props.history.some(({ mayBeUndone }) => mayBeUndone);
  return (
    <Layout title={batch.name} site={page.site} severalSites={page.severalSites} shownAt={page.now}>
      {listed && <PageForms page={page} day={listed.round.day} back={back} />}
      {needsUndo && <UndoForm page={page} back={back} />}
      <h1>{batch.name}</h1>
      {said && (
        <p class="said" role="status">
          {said}
        </p>
      )}
      {listed ? (
        <Listed page={page} listed={listed} />
      ) : (
        <>
          <p>{batch.endedAt === undefined ? 'It is not on the list yet.' : 'This batch has ended.'}</p>
          {batch.endedAt === undefined && <NoteLink page={page} batchId={batch.batchId} name={batch.name} />}
        </>
      )}
      <About
        page={page}
        batch={batch}
        benchName={benchName}
        catalogue={props.catalogue}
        groupName={nameIn(props.catalogue.speciesGroups, batch.group)}
      />
      {isLiving(batch) && <KeepBatch {...props} />}
      <History {...props} />
      <a class="act" href={`${sitePath(page.site.id)}#b-${batch.batchId}`}>
        Back to the list
      </a>
    </Layout>
  );
};
