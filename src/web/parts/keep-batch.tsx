import type { ComponentChildren } from 'preact';
import type { Catalogue } from '../../domain/catalogue.js';
import type { BatchState, BenchState } from '../../domain/collection.js';
import { END_REASONS, LOSS_CAUSES } from '../../domain/plants.js';
import type { Keeping } from '../keep-forms.js';
import { capital, plainWords } from '../words.js';
import { benchGroups } from './bench-groups.js';
import type { PageContext } from './context.js';
import { batchPath } from './layout.js';
import { type Option, Select } from './select.js';

export interface KeepBatchProps {
  readonly page: PageContext;
  readonly batch: BatchState;
  readonly benches: readonly BenchState[];
  readonly catalogue: Catalogue;
}

const words = (all: readonly string[]): Option[] => all.map((word) => [word, capital(plainWords(word))]);
const NO_CAUSE = 'Nothing to name';

/** What becomes of a batch: moved, repotted, split, lost, ended. Folded, because it is seldom. */
export const KeepBatch = ({ page, batch, benches, catalogue }: KeepBatchProps) => {
  if (!page.reader.mayWrite) return null;
  const Act = ({ act, title, button, children }: ActProps) => (
    <details id={`keep-${act}`}>
      <summary>{title}</summary>
      <form method="post" action={`${batchPath(page.site.id, batch.batchId)}/${act}`}>
        <input type="hidden" name="key" value={page.key} />
        {children}
        <div class="buttons">
          <button type="submit">{button}</button>
        </div>
      </form>
    </details>
  );
  const PotsField = ({ id, label }: { id: string; label: string }) => (
    <p>
      <label for={id}>{label}</label>
      <input id={id} name="pots" type="number" inputMode="numeric" min="1" max={batch.potCount} step="1" required />
    </p>
  );
  const BenchField = ({ id }: { id: string }) => (
    <Select
      id={id}
      name="bench"
      label="To which bench"
      chosen={batch.benchId}
      options={[]}
      groups={benchGroups(page.site, benches)}
    />
  );
  return (
    <section aria-labelledby="keep-head">
      <h2 id="keep-head">What became of it</h2>
      <Act act="move" title="It was moved" button="It stands there now">
        <BenchField id="move-bench" />
      </Act>
      <Act act="repot" title="It was repotted" button="It was repotted">
        <Select
          id="repot-pot"
          name="pot"
          label="Pot"
          chosen={batch.potId}
          options={catalogue.pots.map(({ id, name }) => [id, name])}
        />
        <Select
          id="repot-mix"
          name="mix"
          label="Mix"
          chosen={batch.mixId}
          options={catalogue.mixes.map(({ id, name }) => [id, name])}
        />
        <Select
          id="repot-roots"
          name="roots"
          label="Roots"
          options={[
            ['cut', 'Cut or broken'],
            ['whole', 'Kept whole'],
          ]}
        />
      </Act>
      <Act act="split" title="Some pots became a batch of their own" button="Split them off">
        <PotsField id="split-pots" label="How many pots" />
        <p>
          <label for="split-name">Name of the new batch</label>
          <input id="split-name" name="name" maxLength={120} required autocomplete="off" />
        </p>
        <BenchField id="split-bench" />
      </Act>
      <Act act="lose" title="Pots were lost" button="They are lost">
        <PotsField id="lose-pots" label="How many pots" />
        <Select id="lose-cause" name="cause" label="Of what" options={words(LOSS_CAUSES)} />
      </Act>
      <Act act="end" title="The whole batch is gone" button="End this batch">
        <Select id="end-reason" name="reason" label="Why" options={words(END_REASONS)} />
        <Select id="end-cause" name="cause" label="If it died, of what" empty={NO_CAUSE} options={words(LOSS_CAUSES)} />
      </Act>
    </section>
  );
};

interface ActProps {
  readonly act: Keeping;
  readonly title: string;
  readonly button: string;
  readonly children: ComponentChildren;
}
