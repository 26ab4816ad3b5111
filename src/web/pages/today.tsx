import type { Alert } from '../../domain/alerts.js';
import { clockAt, dayInWords, type LocalDay } from '../../domain/time.js';
import type { Round } from '../../domain/verdict.js';
import { type Change, readMark } from '../changes.js';
import type { PageStatus } from '../deps.js';
import { Age } from '../parts/age.js';
import type { PageContext } from '../parts/context.js';
import { FOLD_UP_TO_BATCHES, House, houseWords, OLD_READING_MS } from '../parts/house.js';
import { Icon } from '../parts/icons.js';
import { alertsPath, batchPath, Layout, newBatchPath, sitePath } from '../parts/layout.js';
import { NoteLink, PageForms } from '../parts/row.js';
import { Tasks } from '../parts/tasks.js';
import type { LookView, TodayView } from '../today-view.js';
import { ago, count, dayLengthWords, litres, lookWords } from '../words.js';

export interface TodayProps {
  readonly page: PageContext;
  readonly today: LocalDay;
  readonly round: Round;
  readonly view: TodayView;
  readonly status: PageStatus;
  /** Open alerts of the site, the weightiest first. */
  readonly alerts: readonly Alert[];
  readonly changes: readonly Change[];
  /** Revision read before, when it is an older one. */
  readonly readRevision?: number;
  /** What was just noted, in words. */
  readonly said?: string;
  /** Tells a newer state of the list from the one on the page. */
  readonly digest: string;
}

/** On every printed sheet: what it is a list of, so that a sheet found later is not taken for today's. */
export const printedLine = (page: PageContext, round: Round): string =>
  `${page.site.name} · ${dayInWords(round.day)} · list ${round.revision}`;

/** More open alerts than these are a number: the page of the alerts has them all. */
const ALERTS_SHOWN = 4;

/** What is wrong or coming and not over, one line each. */
const Warned = ({ page, alerts }: Pick<TodayProps, 'page' | 'alerts'>) => {
  if (alerts.length === 0) return null;
  const shown = alerts.slice(0, ALERTS_SHOWN);
  const path = alertsPath(page.site.id);
  return (
    <section class="warned" aria-label="Open alerts">
      <ul>
        {shown.map((alert) => (
          <li>
            <Icon name="alert" /> <a href={`${path}#alert-${alert.id}`}>{alert.text.title}</a>
          </li>
        ))}
        {alerts.length > shown.length && (
          <li>
            <a href={path}>{count(alerts.length - shown.length, 'more alert')}</a>
          </li>
        )}
      </ul>
    </section>
  );
};

/** Before anything else on the page: this is not today's. */
const OldList = ({ page, round }: Pick<TodayProps, 'page' | 'round'>) => (
  <p class="stale strong-stale">
    <Icon name="stale" />
    <span>
      <b>This is the list of {dayInWords(round.day)}.</b> There is no list for today yet. It is made at{' '}
      {page.site.roundAt}. Look at the plants before you water by an old list.
    </span>
  </p>
);

/** How old what is shown is, and whether the service still hears the houses. */
const Freshness = ({ page, round, status }: Pick<TodayProps, 'page' | 'round' | 'status'>) => {
  const zone = page.site.zone;
  const last = status.lastReadingAt;
  const silent = last === null || page.now - last > OLD_READING_MS;
  const length = dayLengthWords(round.dayHours);
  return (
    <div class="fresh">
      <p>
        List {round.revision}, made at {clockAt(zone, round.madeAt)}
        <Age at={round.madeAt} now={page.now} />.
        {!silent && last !== null && (
          <span class="age">
            {' '}
            Last reading <time data-at={last}>{ago(last, page.now)}</time>.
          </span>
        )}
      </p>
      {silent && (
        <p class="stale">
          <Icon name="stale" />
          <span>
            {last === null ? (
              'No sensor has been heard yet. The list goes by the calendar and by what you noted.'
            ) : (
              <>
                No reading since {clockAt(zone, last)}
                <Age at={last} now={page.now} />. The list may not fit the weather.
              </>
            )}
          </span>
        </p>
      )}
      {!status.broker.connected && (
        <p class="stale">
          <Icon name="stale" />
          <span>
            {status.broker.since === null ? (
              'The sensors cannot reach the service. '
            ) : (
              <>
                The sensors have not reached the service since {clockAt(zone, status.broker.since)}
                <Age at={status.broker.since} now={page.now} />.{' '}
              </>
            )}
            The list below stays as it is.
          </span>
        </p>
      )}
      {status.warnings?.map((warning) => (
        <p class="stale">
          <Icon name="stale" />
          <span>{warning}</span>
        </p>
      ))}
      {length && <p>{length}</p>}
    </div>
  );
};

const Changes = ({
  page,
  round,
  changes,
  readRevision,
}: Pick<TodayProps, 'page' | 'round' | 'changes' | 'readRevision'>) => {
  if (readRevision === undefined || readRevision >= round.revision) return null;
  const told = changes.length > 0 ? null : round.changes;
  return (
    <section class="changes" aria-labelledby="changes-head">
      <h2 id="changes-head">
        {changes.length > 0 ? 'Changed since you last read it' : `List ${round.revision} says the same`}
      </h2>
      {changes.length > 0 && (
        <ul>
          {changes.map((change) => (
            <li>
              <a class="name" href={batchPath(page.site.id, change.batchId)}>
                {change.name}
              </a>
              <span class="facts">
                <b>{change.now}</b>, was: {change.was}
              </span>
            </li>
          ))}
        </ul>
      )}
      {told && told.length > 0 && (
        <ul>
          {told.map((sentence) => (
            <li>{sentence}</li>
          ))}
        </ul>
      )}
      <form method="post" action={`${sitePath(page.site.id)}/read`} class="buttons">
        <input type="hidden" name="mark" value={readMark(round)} />
        <input type="hidden" name="back" value={sitePath(page.site.id)} />
        <button type="submit">I have read this</button>
      </form>
    </section>
  );
};

function leftWords({ left, linesLeft, litresLeft }: TodayView): string {
  const byHand = left - linesLeft;
  const parts = [linesLeft > 0 && count(linesLeft, 'line'), byHand > 0 && count(byHand, 'batch', 'batches')];
  const water = litresLeft > 0 ? `, ${litres(litresLeft)}` : '';
  return `${parts.filter(Boolean).join(' and ')} to water${water}`;
}

/** What is left, as one sentence and a bar. */
export const Progress = ({ view }: { view: TodayView }) => {
  const all = view.left + view.done;
  return (
    <div id="progress">
      <p class="sum">
        {all === 0 ? 'Nothing to water today' : view.left === 0 ? 'All watering is done' : leftWords(view)}
      </p>
      {view.looksLeft > 0 && <p class="sum-more">{view.looksLeft} to look at first</p>}
      {all > 0 && (
        <p class="sum-more">
          <progress value={view.done} max={all} aria-label="Watering done" /> {view.done} of {all} done
        </p>
      )}
      {view.done > 0 && (
        <label class="check only-left">
          <input type="checkbox" id="only-left" /> Hide what is done
        </label>
      )}
    </div>
  );
};

export const Jumps = ({ view }: { view: TodayView }) => (
  <nav class="jumps" id="jumps" aria-label="Houses">
    <ul>
      {view.houses.map((house) => (
        <li>
          <a href={`#house-${house.house.houseId}`} class={house.left + house.looks > 0 ? undefined : 'is-done'}>
            <span class="name">{house.house.name}</span>
            <span class="facts">{houseWords(house)}</span>
          </a>
        </li>
      ))}
    </ul>
  </nav>
);

const houseName = (round: Round, houseId: string): string =>
  round.houses.find((house) => house.houseId === houseId)?.name ?? houseId;

const LookRow = ({ look, page, round }: { look: LookView; page: PageContext; round: Round }) => {
  const { item, looked } = look;
  const name = (
    <a class="name" href={batchPath(page.site.id, item.batchId)}>
      {item.batchName}
    </a>
  );
  if (looked)
    return (
      <li class="row is-done">
        <p class="done-name">
          <Icon name="tick" />
          {name}
        </p>
        <p>Looked at. The next list takes it up.</p>
      </li>
    );
  return (
    <li class="row k-look">
      <p class="verdict">
        <Icon name="look" />
        <span class="verdict-words">{name}</span>
      </p>
      <span class="facts">
        {houseName(round, item.houseId)} · {item.benchName}
      </span>
      <p>{lookWords(item.lookFor)}.</p>
      {!item.why.includes(item.lookFor) && <p class="facts">{item.why}</p>}
      <NoteLink page={page} batchId={item.batchId} name={item.batchName} />
    </li>
  );
};

/** In walking order, before any watering: what one look would settle. */
export const Look = ({ look, page, round }: { look: readonly LookView[]; page: PageContext; round: Round }) => (
  <section class="sheet" id="look" aria-labelledby={look.length > 0 ? 'look-head' : undefined}>
    {look.length > 0 && (
      <>
        <header class="sheet-head">
          <h2 id="look-head">Look at these first</h2>
          <p class="printed">{printedLine(page, round)}</p>
        </header>
        <ol class="rows sheet-body">
          {look.map((one) => (
            <LookRow look={one} page={page} round={round} />
          ))}
        </ol>
      </>
    )}
  </section>
);

export const TodayPage = (props: TodayProps) => {
  const { page, round, view, today, said, digest } = props;
  const fold = view.batches <= FOLD_UP_TO_BATCHES;
  return (
    <Layout title={`Today at ${page.site.name}`} site={page.site} severalSites={page.severalSites} shownAt={page.now}>
      <div class={round.day === today ? 'today' : 'today is-old'} data-digest={digest}>
        <PageForms page={page} day={round.day} back={sitePath(page.site.id)} />
        <h1>{dayInWords(round.day)}</h1>
        {round.day !== today && <OldList page={page} round={round} />}
        {said && <p role="status">{said}</p>}
        <Progress view={view} />
        <Freshness {...props} />
        <Warned {...props} />
        <Changes {...props} />
        <Jumps view={view} />
        <Look look={view.look} page={page} round={round} />
        {view.houses.map((house) => (
          <House view={house} page={page} fold={fold} printed={printedLine(page, round)} />
        ))}
        <Tasks tasks={view.tasks} page={page} round={round} printed={printedLine(page, round)} />
        {view.batches === 0 && (
          <p>
            No batch has been entered for this site yet. They are entered through the address /api/v1 of this service.
          </p>
        )}
        <p class="caution">
          The list advises; a person opens the valve. Keep water away from electrical fittings, and do not work long in
          a hot, closed house. For electricity, heating and sprays follow your local rules and a licensed person.
        </p>
        <p class="counts">
          {count(view.batches, 'batch', 'batches')}: {round.counts.full} full drink, {round.counts.light} light drink,{' '}
          {round.counts.none} no water, of these {round.counts.postponed} waiting for better weather;{' '}
          {round.counts.inspect} to look at.
        </p>
      </div>
    </Layout>
  );
};

/** Before the first list was ever made. */
export const NoListPage = ({ page, today }: { page: PageContext; today: LocalDay }) => (
  <Layout title={`Today at ${page.site.name}`} site={page.site} severalSites={page.severalSites} shownAt={page.now}>
    <h1>{dayInWords(today)}</h1>
    <p class="stale">
      <Icon name="stale" />
      <span>There is no list yet.</span>
    </p>
    <p>The list of this site is made each morning at {page.site.roundAt}. Open this page again after that.</p>
    {page.reader.mayWrite && (
      <a class="act" href={newBatchPath(page.site.id)}>
        Add a new batch
      </a>
    )}
    <a class="act" href={sitePath(page.site.id)}>
      Try again
    </a>
  </Layout>
);
