import { clockAt } from '../../domain/time.js';
import type { BenchRows, HouseView, LineView } from '../today-view.js';
import { alertWords, count, drinkHints, drinkWords, litres } from '../words.js';
import { Age } from './age.js';
import { ClothForm } from './cloth-form.js';
import type { PageContext } from './context.js';
import { Icon } from './icons.js';
import { benchPath, housePath, limitsPath } from './layout.js';
import {
  advisedItems,
  BatchRow,
  BenchLink,
  BenchNoteLink,
  DryRow,
  doneWords,
  skippedItems,
  TickButton,
  UndoButton,
} from './row.js';
import { ShadeDetails } from './shade.js';

/** Above this many batches on a site the dry ones are a link to their bench instead of a fold. */
export const FOLD_UP_TO_BATCHES = 200;
/** Readings older than this are told as a warning. */
export const OLD_READING_MS = 2 * 3_600_000;

const Bench = ({
  bench,
  page,
  onRun,
  fold,
}: {
  bench: BenchRows;
  page: PageContext;
  onRun: boolean;
  fold: boolean;
}) => {
  const dryWords = `${count(bench.dry.length, 'batch', 'batches')} to leave dry, ${count(bench.dryPots, 'pot')}`;
  return (
    <section class="bench">
      <h4>
        <BenchLink page={page} benchId={bench.benchId} name={bench.benchName} />
      </h4>
      {bench.rows.length > 0 && (
        <ul class="rows">
          {bench.rows.map((row) => (
            <BatchRow row={row} page={page} inBench onRun={onRun} />
          ))}
        </ul>
      )}
      {bench.dry.length > 0 &&
        (fold ? (
          <details class="dry" id={`dry-${bench.benchId}`}>
            <summary>{dryWords}</summary>
            <ul class="rows">
              {bench.dry.map((row) => (
                <DryRow row={row} page={page} />
              ))}
            </ul>
            <BenchNoteLink page={page} benchId={bench.benchId} name={bench.benchName} />
          </details>
        ) : (
          <a class="act dry-link" href={benchPath(page.site.id, bench.benchId)}>
            {dryWords}
          </a>
        ))}
    </section>
  );
};

/** A line that runs is one thing to do, with buttons of its own. */
const RunLine = ({ view, page }: { view: LineView; page: PageContext }) => {
  const { line, toRun, ran } = view;
  const lineId = line.lineId as string;
  const kind = line.amount === 'full' ? 'full' : 'light';
  const other = line.amount === 'full' ? 'light' : 'full';
  if (toRun.length === 0)
    return (
      <div class="run is-done" id={`l-${lineId}`} tabIndex={-1}>
        <p class="done-name">
          <Icon name="tick" /> <b>{line.name}</b>
        </p>
        <p>{ran ? doneWords(page.site.zone, ran) : 'Every batch on it has been answered.'}</p>
        {ran && page.reader.mayWrite && (
          <div class="buttons">
            <UndoButton done={ran} of={line.name} />
          </div>
        )}
      </div>
    );
  const minutes = line.minutes === undefined ? '' : `, ${count(Math.round(line.minutes), 'minute')}`;
  const hints = new Set(toRun.flatMap(({ advice }) => drinkHints(advice.verdict)));
  const otherItems = toRun.map(({ advice }) => ({ batchId: advice.batchId, amount: other }) as const);
  return (
    <div class={`run k-${kind}`} id={`l-${lineId}`} tabIndex={-1}>
      <p class="verdict">
        <Icon name={kind} />
        <span class="verdict-words">
          Run it: {drinkWords(line.amount).toLowerCase()}, {litres(line.litres)}
          {minutes}
        </span>
      </p>
      {[...hints].map((words) => (
        <span class="facts">{words}</span>
      ))}
      {page.reader.mayWrite && (
        <div class="buttons">
          <TickButton answer="as-advised" items={advisedItems(toRun)} lineId={lineId} strong of={line.name}>
            Line ran as advised
          </TickButton>
          <TickButton answer="another-amount" items={otherItems} lineId={lineId} of={line.name}>
            {`Ran a ${other} drink`}
          </TickButton>
          <TickButton answer="skipped" items={skippedItems(toRun)} lineId={lineId} of={line.name}>
            Skipped
          </TickButton>
        </div>
      )}
    </div>
  );
};

const Line = ({ view, page, fold }: { view: LineView; page: PageContext; fold: boolean }) => {
  const { line } = view;
  const runs = line.action === 'run' && line.lineId !== null;
  const batches = line.batches.length;
  const benches = view.benches.map((bench) => <Bench bench={bench} page={page} onRun={runs} fold={fold} />);
  return (
    <section class="line">
      <h3>{line.name}</h3>
      <p class="line-says">{line.sentence}</p>
      {line.lasting !== undefined && (
        <details class="lasting">
          <summary>Plants of opposite seasons hang on this line</summary>
          <p>{line.lasting}</p>
        </details>
      )}
      {runs ? (
        <>
          <RunLine view={view} page={page} />
          <details class="on-line" id={`on-${line.lineId}`}>
            <summary>{count(batches, 'batch', 'batches')} on this line: why, or note a difference</summary>
            {benches}
          </details>
        </>
      ) : (
        benches
      )}
    </section>
  );
};

/** What a house asks for, in a few words: the label of its jump and of its heading. */
export function houseWords(view: HouseView): string {
  const parts = [
    view.left > 0 ? `${view.left} to water` : '',
    view.looks > 0 ? `${view.looks} to look at` : '',
    view.left === 0 && view.looks === 0 ? (view.done > 0 ? 'all done' : 'nothing to water') : '',
  ];
  return parts.filter(Boolean).join(', ');
}

const ShadeAdvice = ({ view, page }: { view: HouseView; page: PageContext }) => {
  const { shade } = view.house;
  if (!shade) return null;
  return (
    <div class="shade">
      <p>
        <Icon name="shade" /> <b>Shade:</b> {shade.sentence}
      </p>
      <ShadeDetails shade={shade} />
      <ClothForm page={page} houseId={view.house.houseId} />
    </div>
  );
};

const HouseClimate = ({ view, page }: { view: HouseView; page: PageContext }) => {
  const climate = view.house.climate;
  const last = climate.lastReadingAt;
  const old = last === null || page.now - last > OLD_READING_MS;
  return (
    <>
      {climate.sentence && <p>{climate.sentence}</p>}
      {old && (
        <p class="stale">
          <Icon name="stale" />
          {last === null ? (
            'No sensor of this house has been heard. Its climate is not known.'
          ) : (
            <span>
              No reading from this house since {clockAt(page.site.zone, last)}
              <Age at={last} now={page.now} />.
            </span>
          )}
        </p>
      )}
    </>
  );
};

export const House = ({
  view,
  page,
  fold,
  printed,
}: {
  view: HouseView;
  page: PageContext;
  fold: boolean;
  /** Date and revision, repeated on every printed page of the house. */
  printed: string;
}) => (
  <section
    class={`house sheet${view.left + view.done + view.looks === 0 ? ' is-quiet' : ''}`}
    id={`house-${view.house.houseId}`}
    tabIndex={-1}
  >
    <header class="house-head sheet-head">
      <h2>
        <a href={housePath(page.site.id, view.house.houseId)}>{view.house.name}</a>
      </h2>
      <p class="printed">{printed}</p>
    </header>
    <div class="sheet-body">
      <p class="house-says">
        {houseWords(view)}
        {view.left > 0 && view.litresLeft > 0 && ` · ${litres(view.litresLeft)}`}
      </p>
      {view.alerts.map(([kind, batches]) => (
        <p class="hot">
          <Icon name="alert" />
          <span>
            {alertWords(kind)}: {count(batches, 'batch', 'batches')} at risk
          </span>
        </p>
      ))}
      <HouseClimate view={view} page={page} />
      <ShadeAdvice view={view} page={page} />
      {view.lines.map((line) => (
        <Line view={line} page={page} fold={fold} />
      ))}
      {view.lines.length === 0 && <p>No batch stands in this house.</p>}
      <p class="to-limits">
        <a class="bench-link" href={limitsPath(page.site.id, view.house.houseId)}>
          Limits of this house
        </a>
      </p>
      <a class="act up" href="#main">
        Back to the top
      </a>
    </div>
  </section>
);
