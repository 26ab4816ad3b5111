import { type Catalogue, WATER_PHASES } from '../../domain/catalogue.js';
import { AMOUNTS } from '../../domain/plants.js';
import { inWords } from '../../rules/words.js';
import { capital } from '../words.js';

/** For which plants limits are shown or set. */
export interface PlantScope {
  readonly group?: string;
  readonly phase?: (typeof WATER_PHASES)[number];
  readonly drink?: (typeof AMOUNTS)[number];
}

/** `?group=conophytum&phase=growing`, or nothing. */
export function scopeQuery(scope: PlantScope): string {
  const query = new URLSearchParams(Object.entries(scope)).toString();
  return query && `?${query}`;
}

interface SelectProps {
  readonly name: string;
  readonly label: string;
  readonly chosen: string | undefined;
  readonly all: string;
  readonly options: readonly (readonly [value: string, words: string])[];
}
const Select = ({ name, label, chosen, all, options }: SelectProps) => (
  <p>
    <label for={`scope-${name}`}>{label}</label>
    <select id={`scope-${name}`} name={name}>
      <option value="">{all}</option>
      {options.map(([value, words]) => (
        <option value={value} selected={value === chosen}>
          {words}
        </option>
      ))}
    </select>
  </p>
);

/** Shows the same page for other plants. A plain form, so that it works without scripts. */
export const ScopeForm = ({
  action,
  catalogue,
  here,
  scope,
  everyone,
  perDrink = false,
}: {
  action: string;
  catalogue: Catalogue;
  here: readonly string[];
  scope: PlantScope;
  /** What no group chosen means. */
  everyone: string;
  perDrink?: boolean;
}) => {
  const groups = [...catalogue.speciesGroups].sort((a, b) => Number(here.includes(b.id)) - Number(here.includes(a.id)));
  return (
    <details class="scope" id="scope">
      <summary>Show other plants</summary>
      <form method="get" action={action}>
        <Select
          name="group"
          label="Species group"
          chosen={scope.group}
          all={everyone}
          options={groups.map(({ id, name }) => [id, here.includes(id) ? `${name} (in this house)` : name])}
        />
        <Select
          name="phase"
          label="Phase"
          chosen={scope.phase}
          all="Every phase"
          options={WATER_PHASES.map((phase) => [phase, capital(inWords(phase))])}
        />
        {perDrink && (
          <Select
            name="drink"
            label="Drink"
            chosen={scope.drink}
            all="Every drink"
            options={AMOUNTS.filter((amount) => amount !== 'none').map((amount) => [
              amount,
              capital(`${amount} drink`),
            ])}
          />
        )}
        <div class="buttons">
          <button type="submit">Show for these plants</button>
        </div>
      </form>
    </details>
  );
};
