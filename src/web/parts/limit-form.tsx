import type { ComponentChildren } from 'preact';
import type { HouseSettings, SetValue } from '../../domain/house-settings.js';
import type { House } from '../../domain/site.js';
import { TASK_KINDS } from '../../domain/tasks.js';
import type { LimitDeclaration } from '../../rules/schema.js';
import { inWords } from '../../rules/words.js';
import { allowedWords } from '../limit-words.js';
import { capital, taskWords, unitWords } from '../words.js';
import type { PageContext } from './context.js';
import { sitePath } from './layout.js';
import type { PlantScope } from './scope-form.js';

type Declared = Pick<LimitDeclaration, 'kind' | 'unit'> & Partial<Pick<LimitDeclaration, 'bounds' | 'words' | 'whole'>>;

/** What is sent to be tried; nothing is set before the preview was seen. */
const TryForm = ({ page, house, children }: { page: PageContext; house: House; children: ComponentChildren }) => (
  <form method="post" action={`${sitePath(page.site.id)}/houses/${house.id}/limits/try`}>
    {children}
  </form>
);

const WhyField = ({ id }: { id: string }) => (
  <p>
    <label for={id}>Why, for whoever reads it later</label>
    <input id={id} name="why" required maxLength={500} autocomplete="off" />
  </p>
);

const NumberField = ({
  name,
  label,
  limit: { bounds, whole },
  value,
}: {
  name: string;
  label: string;
  limit: Pick<Declared, 'bounds' | 'whole'>;
  value: number | undefined;
}) => (
  <p>
    <label for={`limit-${name}`}>{label}</label>
    <input
      id={`limit-${name}`}
      name={name}
      type="number"
      inputMode="decimal"
      step={whole ? '1' : 'any'}
      autocomplete="off"
      {...(bounds && { min: bounds[0], max: bounds[1] })}
      {...(value !== undefined && { value })}
    />
  </p>
);

const Radios = ({
  legend,
  options,
  chosen,
}: {
  legend: string;
  options: readonly (readonly [string, string])[];
  chosen: string;
}) => (
  <fieldset>
    <legend>{legend}</legend>
    <div class="choices">
      {options.map(([value, words]) => (
        <label class="choice">
          <input type="radio" name="word" value={value} checked={value === chosen} />
          <span>{capital(words)}</span>
        </label>
      ))}
    </div>
  </fieldset>
);

const ANGLES =
  'In degrees of the season: 0 is the autumn equinox, 90 midwinter, 180 the spring equinox, 270 midsummer.';
const ANGLE_BOUNDS = { bounds: [0, 360] as [number, number] };

/** The value as it stands, ready to be changed. Several values at once cannot be filled in beforehand. */
const ValueFields = ({ limit, now }: { limit: Declared; now: SetValue | undefined }) => {
  const withUnit = (label: string): string => (limit.unit ? `${label}, ${unitWords(limit.unit)}` : label);
  switch (limit.kind) {
    case 'number':
      return (
        <NumberField
          name="number"
          label={`${withUnit('New value')} (${allowedWords(limit)})`}
          limit={limit}
          value={typeof now === 'number' ? now : undefined}
        />
      );
    case 'word':
      return (
        <Radios
          legend="New value"
          options={(limit.words ?? []).map((word) => [word, inWords(word)])}
          chosen={String(now)}
        />
      );
    case 'flag':
      return (
        <Radios
          legend="New value"
          options={[
            ['yes', 'yes'],
            ['no', 'no'],
          ]}
          chosen={now === true ? 'yes' : now === false ? 'no' : ''}
        />
      );
    default: {
      const season = limit.kind === 'season';
      const ends = (season ? (now as readonly unknown[] | null | undefined)?.[0] : now) as
        | readonly [number, number]
        | null
        | undefined;
      const bounds = season ? ANGLE_BOUNDS : limit;
      return (
        <>
          {season && <p>{ANGLES}</p>}
          <NumberField
            name="low"
            label={season ? 'From, degrees' : withUnit('From')}
            limit={bounds}
            value={ends?.[0]}
          />
          <NumberField name="high" label={season ? 'To, degrees' : withUnit('To')} limit={bounds} value={ends?.[1]} />
        </>
      );
    }
  }
};

/** Sets one limit for the plants the page is about. */
export const LimitForm = ({
  page,
  house,
  name,
  of,
  limit,
  scope,
  now,
  mayBeUnasked,
  hasOwn,
}: {
  page: PageContext;
  house: House;
  name: string;
  of: 'limit' | 'alert';
  limit: Declared;
  scope: PlantScope;
  /** Left out: it depends on the plants. */
  now?: SetValue;
  mayBeUnasked: boolean;
  /** A value is set for exactly these plants. */
  hasOwn: boolean;
}) => (
  <TryForm page={page} house={house}>
    <input type="hidden" name={of} value={name} />
    {Object.entries(scope).map(([field, value]) => (
      <input type="hidden" name={field} value={value} />
    ))}
    <ValueFields limit={limit} now={now} />
    {mayBeUnasked && (
      <label class="check">
        <input type="checkbox" name="unasked" value="yes" checked={now === null} />
        <span>Do not ask this at all</span>
      </label>
    )}
    <WhyField id="limit-why" />
    <p>Nothing is changed yet: the next page shows what today’s list would say.</p>
    <div class="buttons">
      <button type="submit" name="act" value="set" class="strong">
        See what it would do
      </button>
      {hasOwn && (
        <button type="submit" name="act" value="unset">
          Back to the usual: see what it would do
        </button>
      )}
    </div>
  </TryForm>
);

/** Which of the other tasks are shown in the house. */
export const TasksForm = ({ page, house, settings }: { page: PageContext; house: House; settings: HouseSettings }) => {
  const isShown = (kind: string): boolean => !settings.tasksOff.includes(kind);
  if (!page.reader.isOwner)
    return <p>Shown: {TASK_KINDS.filter(isShown).map(taskWords).join(', ') || 'none of them'}.</p>;
  return (
    <TryForm page={page} house={house}>
      <input type="hidden" name="tasks" value="yes" />
      <fieldset>
        <legend>Shown in this house</legend>
        <div class="choices">
          {TASK_KINDS.map((kind) => (
            <label class="choice">
              <input type="checkbox" name="shown" value={kind} checked={isShown(kind)} />
              <span>{capital(taskWords(kind))}</span>
            </label>
          ))}
        </div>
      </fieldset>
      <WhyField id="tasks-why" />
      <div class="buttons">
        <button type="submit">See what would change</button>
      </div>
    </TryForm>
  );
};
