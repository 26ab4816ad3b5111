import { type Catalogue, WATER_PHASES } from '../../domain/catalogue.js';
import { AMOUNTS } from '../../domain/plants.js';
import { inWords } from '../../rules/words.js';
import { capital } from '../words.js';
import { Select } from './select.js';

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
          id="scope-group"
          name="group"
          label="Species group"
          chosen={scope.group}
          empty={everyone}
          options={groups.map(({ id, name }) => [id, here.includes(id) ? `${name} (in this house)` : name])}
        />
        <Select
          id="scope-phase"
          name="phase"
          label="Phase"
          chosen={scope.phase}
          empty="Every phase"
          options={WATER_PHASES.map((phase) => [phase, capital(inWords(phase))])}
        />
        {perDrink && (
          <Select
            id="scope-drink"
            name="drink"
            label="Drink"
            chosen={scope.drink}
            empty="Every drink"
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
