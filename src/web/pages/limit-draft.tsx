import type { RevisionView, TriedChange } from '../../advice/limits-desk.js';
import type { SettingsChange } from '../../domain/house-settings.js';
import type { House } from '../../domain/site.js';
import { dayInWords } from '../../domain/time.js';
import type { PageContext } from '../parts/context.js';
import { batchPath, Layout, limitsPath } from '../parts/layout.js';
import { capital, count } from '../words.js';
import { SinceLine } from './limits.js';

/** More than this many batches are counted, not listed. */
const LISTED_AT_MOST = 40;

const Today = ({ page, house, today }: { page: PageContext; house: House; today: TriedChange['today'] }) => {
  const { differing, lines, batches, day } = today;
  return (
    <section class="part" aria-labelledby="today-head">
      <h2 id="today-head">What today’s list would say</h2>
      <p>
        {dayInWords(day)}, {house.name}:{' '}
        {differing.length === 0
          ? `nothing else. All ${count(batches, 'batch', 'batches')} would be told the same.`
          : `${differing.length} of ${count(batches, 'batch', 'batches')} would be told something else.`}
      </p>
      {lines.length > 0 && (
        <ul class="rows">
          {lines.map((line) => (
            <li class="limit">
              <b>{line.name}</b>
              <span class="facts">Now: {line.before}</span>
              <span class="facts">Then: {line.after}</span>
            </li>
          ))}
        </ul>
      )}
      {differing.length > 0 && (
        <ul class="rows">
          {differing.slice(0, LISTED_AT_MOST).map((batch) => (
            <li class="limit">
              <a class="name" href={batchPath(page.site.id, batch.batchId)}>
                {batch.name}
              </a>
              <span class="facts">
                {batch.benchName} · {count(batch.potCount, 'pot')}
              </span>
              {batch.differences.map(({ what, before, after }) => (
                <p>
                  {capital(what)}: <b>{after}</b>, now {before}.
                </p>
              ))}
              <span class="facts">{batch.sentence}</span>
            </li>
          ))}
        </ul>
      )}
      {differing.length > LISTED_AT_MOST && (
        <p>And {count(differing.length - LISTED_AT_MOST, 'batch', 'batches')} more.</p>
      )}
    </section>
  );
};

/** What a change would do, and the one button that makes it. */
export const DraftPage = ({
  page,
  house,
  change,
  why,
  tried,
}: {
  page: PageContext;
  house: House;
  change: SettingsChange;
  why: string;
  tried: TriedChange;
}) => {
  const back = limitsPath(page.site.id, house.id);
  return (
    <Layout
      title={`What would change in ${house.name}`}
      site={page.site}
      severalSites={page.severalSites}
      shownAt={page.now}
    >
      <h1>Nothing is changed yet</h1>
      <p>{house.name} would have:</p>
      <ul class="rows">
        {tried.changes.map((words) => (
          <li class="limit is-own">{words}</li>
        ))}
      </ul>
      <p>Because: {why}</p>
      <Today page={page} house={house} today={tried.today} />
      <form method="post" action={`${back}/set`}>
        <input type="hidden" name="key" value={page.key} />
        <input type="hidden" name="expected" value={String(tried.revision)} />
        <input type="hidden" name="why" value={why} />
        <input type="hidden" name="change" value={JSON.stringify(change)} />
        <div class="buttons">
          <button type="submit" class="strong">
            Set it
          </button>
        </div>
      </form>
      <a class="act" href={back}>
        Change nothing
      </a>
    </Layout>
  );
};

const BackButton = ({
  page,
  house,
  expected,
  to,
  children,
}: {
  page: PageContext;
  house: House;
  expected: number;
  to?: number;
  children: string;
}) => (
  <form method="post" action={`${limitsPath(page.site.id, house.id)}/back`} class="buttons">
    <input type="hidden" name="key" value={page.key} />
    <input type="hidden" name="expected" value={String(expected)} />
    {to !== undefined && <input type="hidden" name="to" value={String(to)} />}
    <button type="submit" {...(to !== undefined && { 'aria-label': `${children}: number ${to}` })}>
      {children}
    </button>
  </form>
);

/** Every change that was made, and the way back. */
export const LimitHistoryPage = ({
  page,
  house,
  current,
  revisions,
  more,
}: {
  page: PageContext;
  house: House;
  /** The revision in force. */
  current: number;
  revisions: readonly RevisionView[];
  /** Address of the older ones. */
  more?: string;
}) => (
  <Layout title={`What was set for ${house.name}`} site={page.site} severalSites={page.severalSites} shownAt={page.now}>
    <h1>What was set for {house.name}</h1>
    {revisions.length === 0 && <p>Nothing was ever set here: the usual holds.</p>}
    {page.reader.isOwner && current > 0 && (
      <>
        <p>One step back makes what held before the last change hold again. Nothing is lost by it.</p>
        <BackButton page={page} house={house} expected={current}>
          Go back one step
        </BackButton>
      </>
    )}
    <ul class="history">
      {revisions.map(({ settings, changes }) => (
        <li>
          <p>
            <b>Number {settings.revision}</b>
            {settings.revision === current && ', in force'}
          </p>
          {changes.map((words) => (
            <p>{words}</p>
          ))}
          <SinceLine page={page} since={settings} />
          {page.reader.isOwner && settings.revision < current && (
            <BackButton page={page} house={house} expected={current} to={settings.revision}>
              Use these again
            </BackButton>
          )}
        </li>
      ))}
    </ul>
    {more && (
      <a class="act" href={more}>
        Older ones
      </a>
    )}
    {page.reader.isOwner && current > 0 && !more && (
      <BackButton page={page} house={house} expected={current} to={0}>
        Have the usual everywhere
      </BackButton>
    )}
    <a class="act" href={limitsPath(page.site.id, house.id)}>
      All limits of {house.name}
    </a>
  </Layout>
);
