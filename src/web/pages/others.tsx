import type { BatchState, BenchState } from '../../domain/collection.js';
import type { Problem } from '../../domain/errors.js';
import type { Site } from '../../domain/site.js';
import type { Round } from '../../domain/verdict.js';
import type { PageContext } from '../parts/context.js';
import { batchPath, Layout, newBatchPath, sitePath } from '../parts/layout.js';
import { NoteForm, type NoteSubject } from '../parts/note-form.js';
import { BatchRow, BenchNoteLink, DryRow, PageForms } from '../parts/row.js';
import type { RowView } from '../today-view.js';
import { count, headline, plainWords } from '../words.js';

export const SitesPage = ({ sites, now }: { sites: readonly Site[]; now: number }) => (
  <Layout title="Sites" shownAt={now}>
    <h1>Which site?</h1>
    <nav class="jumps" aria-label="Sites">
      <ul>
        {sites.map((site) => (
          <li>
            <a href={sitePath(site.id)}>
              <span class="name">{site.name}</span>
              <span class="facts">{count(site.houses.length, 'house')}</span>
            </a>
          </li>
        ))}
      </ul>
    </nav>
  </Layout>
);

/** One bench with everything on it. */
export const BenchPage = ({
  page,
  bench,
  houseName,
  round,
  rows,
}: {
  page: PageContext;
  bench: BenchState;
  houseName: string;
  round?: Round;
  rows: readonly RowView[];
}) => {
  const dry = rows.filter((row) => row.kind === 'dry' && !row.done);
  const others = rows.filter((row) => !dry.includes(row));
  return (
    <Layout title={bench.name} site={page.site} severalSites={page.severalSites} shownAt={page.now}>
      {round && <PageForms page={page} day={round.day} back={`${sitePath(page.site.id)}/benches/${bench.benchId}`} />}
      <h1>{bench.name}</h1>
      <p>{houseName}</p>
      <BenchNoteLink page={page} benchId={bench.benchId} name={bench.name} />
      {rows.length === 0 && <p>No batch of the list stands here.</p>}
      {others.length > 0 && (
        <ul class="rows">
          {others.map((row) => (
            <BatchRow row={row} page={page} inBench />
          ))}
        </ul>
      )}
      {dry.length > 0 && (
        <>
          <h2>{count(dry.length, 'batch', 'batches')} to leave dry</h2>
          <ul class="rows">
            {dry.map((row) => (
              <DryRow row={row} page={page} />
            ))}
          </ul>
        </>
      )}
      <a class="act" href={sitePath(page.site.id)}>
        Back to the list
      </a>
    </Layout>
  );
};

export const SEARCH_SHOWS = 60;

export interface Found {
  readonly batch: BatchState;
  readonly benchName: string;
  readonly row?: RowView;
}

export const SearchPage = ({
  page,
  query,
  found,
  total,
}: {
  page: PageContext;
  query: string;
  found: readonly Found[];
  total: number;
}) => (
  <Layout title="Find a batch" site={page.site} severalSites={page.severalSites} shownAt={page.now}>
    <h1>Find a batch</h1>
    <search>
      <form method="get" action={`${sitePath(page.site.id)}/batches`}>
        <p>
          <label for="q">Name, label, group or bench</label>
          <input id="q" name="q" type="search" value={query} autocomplete="off" />
        </p>
        <div class="buttons">
          <button type="submit" class="strong">
            Find
          </button>
        </div>
      </form>
    </search>
    {page.reader.mayWrite && (
      <a class="act" href={newBatchPath(page.site.id)}>
        Add a new batch
      </a>
    )}
    {query !== '' && (
      <p role="status">
        {total === 0
          ? `Nothing is called "${query}". Try a part of the name.`
          : total > found.length
            ? `${count(total, 'batch', 'batches')}; here are the first ${found.length}. Add a word to find fewer.`
            : count(total, 'batch', 'batches')}
      </p>
    )}
    {found.length > 0 && (
      <nav class="jumps" aria-label="Batches found">
        <ul>
          {found.map(({ batch, benchName, row }) => (
            <li>
              <a href={batchPath(page.site.id, batch.batchId)}>
                <span class="name">{batch.name}</span>
                <span class="facts">
                  {row ? `${headline(row.advice.verdict)} · ` : ''}
                  {benchName} · {row?.advice.groupName ?? plainWords(batch.group)}
                </span>
              </a>
            </li>
          ))}
        </ul>
      </nav>
    )}
  </Layout>
);

export const NotePage = ({
  page,
  subject,
  name,
  about,
  back,
}: {
  page: PageContext;
  subject: NoteSubject;
  name: string;
  about: string;
  back: string;
}) => (
  <Layout title={`Note what you saw: ${name}`} site={page.site} severalSites={page.severalSites} shownAt={page.now}>
    <h1>Note what you saw</h1>
    <p class="sum" id="note-name">
      {name}
    </p>
    {about && <p>{about}</p>}
    <p>Tap only what you looked at. The rest stays as it was.</p>
    <NoteForm page={page} subject={subject} back={back} />
  </Layout>
);

/** Something was asked for or sent that cannot be done: what, why, and the way back. */
export const ProblemPage = ({
  site,
  now,
  title,
  message,
  problems = [],
  back,
}: {
  site?: Site;
  now: number;
  title: string;
  message: string;
  problems?: readonly Problem[];
  back: string;
}) => (
  <Layout title={`Error: ${title}`} shownAt={now} {...(site && { site })}>
    <div class="problem" id="problem" role="alert" tabIndex={-1}>
      <h1>{title}</h1>
      <p>{message}</p>
      {problems.length > 0 && (
        <ul>
          {problems.map((problem) => (
            <li>
              {problem.path && <b>{plainWords(problem.path)}: </b>}
              expected {problem.expected}, got {problem.got}. {problem.mend}
            </li>
          ))}
        </ul>
      )}
    </div>
    <a class="act" href={back}>
      Go back
    </a>
  </Layout>
);
