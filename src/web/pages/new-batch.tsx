import type { Catalogue } from '../../domain/catalogue.js';
import type { BenchState } from '../../domain/collection.js';
import type { Problem } from '../../domain/errors.js';
import { WORTHS } from '../keep-forms.js';
import { benchGroups } from '../parts/bench-groups.js';
import type { PageContext } from '../parts/context.js';
import { Layout, newBatchPath, sitePath } from '../parts/layout.js';
import { Select } from '../parts/select.js';
import { plainWords } from '../words.js';

const WORTH_WORDS: Record<(typeof WORTHS)[number], string> = {
  '1': 'Ordinary',
  '3': 'Better than most',
  '10': 'Cannot be replaced',
};

export interface NewBatchProps {
  readonly page: PageContext;
  readonly catalogue: Catalogue;
  readonly benches: readonly BenchState[];
  /** What was filled in before, by field. */
  readonly values: Readonly<Record<string, string>>;
  readonly problems: readonly Problem[];
}

/** A new batch: what is known of it, and where it stands. */
export const NewBatchPage = ({ page, catalogue, benches, values, problems }: NewBatchProps) => {
  const { houses } = page.site;
  return (
    <Layout title="New batch" site={page.site} severalSites={page.severalSites} shownAt={page.now}>
      <h1>New batch</h1>
      {problems.length > 0 && (
        <div class="problem" id="problem" role="alert" tabIndex={-1}>
          <p>It is not kept yet. Nothing you filled in is lost.</p>
          <ul>
            {problems.map(({ path, expected, got, mend }) => (
              <li>
                <b>{plainWords(path)}: </b>
                expected {expected}, got {got}. {mend}
              </li>
            ))}
          </ul>
        </div>
      )}
      <form method="post" action={newBatchPath(page.site.id)}>
        <input type="hidden" name="key" value={page.key} />
        <p>
          <label for="batch-name">Name, as on the label</label>
          <input id="batch-name" name="name" value={values.name ?? ''} maxLength={120} required autocomplete="off" />
        </p>
        <Select
          id="batch-group"
          name="group"
          label="Species group"
          chosen={values.group}
          options={catalogue.speciesGroups.map(({ id, name }) => [id, name])}
        />
        <p>
          <label for="batch-pots">How many pots</label>
          <input
            id="batch-pots"
            name="pots"
            type="number"
            inputMode="numeric"
            min="1"
            max="100000"
            step="1"
            value={values.pots ?? ''}
            required
          />
        </p>
        <Select
          id="batch-bench"
          name="bench"
          label="Bench"
          chosen={values.bench}
          empty="Choose one"
          options={[]}
          groups={benchGroups(page.site, benches)}
        />
        {page.reader.isOwner && (
          <details id="new-bench" open={benches.length === 0}>
            <summary>It stands on a new bench</summary>
            <p>
              <label for="batch-new-bench">Name of the new bench</label>
              <input
                id="batch-new-bench"
                name="newBench"
                value={values.newBench ?? ''}
                maxLength={120}
                autocomplete="off"
              />
            </p>
            <Select
              id="batch-house"
              name="house"
              label="House it stands in"
              chosen={values.house}
              options={houses.map(({ id, name }) => [id, name])}
            />
          </details>
        )}
        <Select
          id="batch-pot"
          name="pot"
          label="Pot"
          chosen={values.pot ?? 'square-7cm-plastic'}
          options={catalogue.pots.map(({ id, name }) => [id, name])}
        />
        <Select
          id="batch-mix"
          name="mix"
          label="Mix"
          chosen={values.mix ?? 'mineral-80-20'}
          options={catalogue.mixes.map(({ id, name }) => [id, name])}
        />
        <p>
          <label for="batch-sown">Sown on, if you know it</label>
          <input id="batch-sown" name="sownOn" type="date" value={values.sownOn ?? ''} />
        </p>
        <Select
          id="batch-worth"
          name="worth"
          label="What a lost pot of it would cost you"
          chosen={values.worth ?? '1'}
          options={WORTHS.map((worth) => [worth, WORTH_WORDS[worth]])}
        />
        <div class="buttons">
          <button type="submit" class="strong">
            Keep this batch
          </button>
        </div>
      </form>
      <a class="act" href={sitePath(page.site.id)}>
        Back to the list
      </a>
    </Layout>
  );
};
