import type { ComponentChildren } from 'preact';
import { FIRMNESS, PAIR_STATES, PHASES, SIGNS, STAGES } from '../../domain/plants.js';
import { capital, firmnessWords, pairWords, phaseWords, signWords, stageWords } from '../words.js';
import type { PageContext } from './context.js';
import { sitePath } from './layout.js';

const Choice = ({
  type,
  name,
  value,
  children,
}: {
  type: 'radio' | 'checkbox';
  name: string;
  value: string;
  children: string;
}) => (
  <label class="choice">
    <input type={type} name={name} value={value} />
    <span>{capital(children)}</span>
  </label>
);

const Group = ({ legend, children }: { legend: string; children: ComponentChildren }) => (
  <fieldset>
    <legend>{legend}</legend>
    <div class="choices">{children}</div>
  </fieldset>
);

interface RadiosProps<T extends string> {
  readonly legend: string;
  readonly name: string;
  readonly values: readonly T[];
  readonly words: (value: T) => string;
}
function Radios<T extends string>({ legend, name, values, words }: RadiosProps<T>) {
  return (
    <Group legend={legend}>
      {values.map((value) => (
        <Choice type="radio" name={name} value={value}>
          {words(value)}
        </Choice>
      ))}
      <Choice type="radio" name={name} value="">
        not looked at
      </Choice>
    </Group>
  );
}

export type NoteSubject =
  | { readonly kind: 'batch'; readonly id: string }
  | { readonly kind: 'bench'; readonly id: string }
  /** Not said in the address: the person names the batch. */
  | { readonly kind: 'ask' };

/** What can be seen on a plant, as taps. What is left out is not noted, so nothing is filled in beforehand. */
export const NoteForm = ({ page, subject, back }: { page: PageContext; subject: NoteSubject; back: string }) => (
  <form method="post" action={`${sitePath(page.site.id)}/notes`} class="note" data-outbox id="note-form">
    <input type="hidden" name="key" value={page.key} />
    <input type="hidden" name="back" value={back} />
    {subject.kind === 'ask' ? (
      <p data-ask>
        <label for="note-batch">Which batch? Its label or name</label>
        <input id="note-batch" name="batch" autocomplete="off" />
      </p>
    ) : (
      <input type="hidden" name={subject.kind} value={subject.id} />
    )}
    <Radios legend="How firm is the working body?" name="firmness" values={FIRMNESS} words={firmnessWords} />
    <Radios legend="Old leaf pair" name="oldPair" values={PAIR_STATES} words={pairWords} />
    <Radios legend="New leaf pair" name="newPair" values={[...PAIR_STATES, 'hidden'] as const} words={pairWords} />
    <Radios legend="What is it doing?" name="phase" values={PHASES} words={phaseWords} />
    <Radios legend="If it replaces its leaf pair, how far is it?" name="stage" values={STAGES} words={stageWords} />
    <Group legend="Dry sheath around the body">
      <Choice type="radio" name="sheathed" value="yes">
        in its sheath
      </Choice>
      <Choice type="radio" name="sheathed" value="no">
        no sheath
      </Choice>
      <Choice type="radio" name="sheathed" value="">
        not looked at
      </Choice>
    </Group>
    <Group legend="Soil in the pot">
      <Choice type="radio" name="substrate" value="looked-dry">
        looked dry
      </Choice>
      <Choice type="radio" name="substrate" value="still-moist">
        still moist
      </Choice>
      <Choice type="radio" name="substrate" value="">
        not looked at
      </Choice>
    </Group>
    <Group legend="Trouble seen now">
      {SIGNS.map((sign) => (
        <Choice type="checkbox" name="signs" value={sign}>
          {signWords(sign)}
        </Choice>
      ))}
    </Group>
    <details>
      <summary>Trouble that is over</summary>
      <Group legend="Looked for and no longer there">
        {SIGNS.map((sign) => (
          <Choice type="checkbox" name="gone" value={sign}>
            {signWords(sign)}
          </Choice>
        ))}
      </Group>
    </details>
    <p>
      <label for="note-text">In your own words, if you like</label>
      <textarea id="note-text" name="text" rows={3} maxLength={2000} />
    </p>
    <div class="buttons">
      <button type="submit" class="strong">
        Keep this note
      </button>
    </div>
  </form>
);
