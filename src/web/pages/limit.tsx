import type { AlertLimitView, LimitView, OwnValue } from '../../advice/limits-view.js';
import { scopeInWords } from '../../advice/limits-view.js';
import type { Catalogue } from '../../domain/catalogue.js';
import type { SetValue } from '../../domain/house-settings.js';
import type { House } from '../../domain/site.js';
import { scopeKey } from '../../rules/house-limits.js';
import type { LimitDeclaration } from '../../rules/schema.js';
import { allowedWords, valuesWords, valueWords } from '../limit-words.js';
import type { PageContext } from '../parts/context.js';
import { Layout, limitsPath } from '../parts/layout.js';
import { LimitForm } from '../parts/limit-form.js';
import { type PlantScope, ScopeForm } from '../parts/scope-form.js';
import { capital } from '../words.js';
import { SinceLine } from './limits.js';

const NO_OWNER = 'Only the owner changes limits.';

type Shown = Pick<LimitDeclaration, 'kind' | 'unit' | 'label' | 'reason'> &
  Partial<Pick<LimitDeclaration, 'bounds' | 'words' | 'whole' | 'customary'>>;

/** All there is to know of a limit before it is changed. */
const About = ({ page, limit, usual, source }: { page: PageContext; limit: Shown; usual: string; source: string }) => (
  <dl class="about">
    <dt>Usual</dt>
    <dd>{usual}</dd>
    {limit.customary && (
      <>
        <dt>Customary</dt>
        <dd>{valueWords(page, { kind: 'band', unit: limit.unit }, limit.customary)}</dd>
      </>
    )}
    <dt>May be</dt>
    <dd>{capital(allowedWords(limit))}</dd>
    <dt>Why</dt>
    <dd>{limit.reason}</dd>
    <dt>Source</dt>
    <dd>{capital(source)}</dd>
  </dl>
);

const OwnValues = ({
  page,
  catalogue,
  limit,
  own,
}: {
  page: PageContext;
  catalogue: Catalogue;
  limit: Shown;
  own: readonly OwnValue[];
}) => (
  <section class="part" aria-labelledby="own-head">
    <h2 id="own-head">Set for this house</h2>
    {own.length === 0 ? (
      <p>Nothing: the usual holds.</p>
    ) : (
      <ul class="history">
        {own.map((one) => (
          <li>
            <p>
              <b>{capital(valueWords(page, limit, one.value))}</b>, for{' '}
              {scopeInWords(catalogue, one) || 'the whole house'}
            </p>
            <SinceLine page={page} since={one} />
          </li>
        ))}
      </ul>
    )}
  </section>
);

/** Why there is more than one value. */
const dependsWords = ({ group, phase }: PlantScope): string =>
  group !== undefined && phase !== undefined
    ? 'It depends on the drink.'
    : 'It depends on the plants. One value for all of them takes that away: choose the plants first.';

const frameTitle = (house: House, label: string): string => `${label}, ${house.name}`;

export const LimitPage = ({
  page,
  house,
  catalogue,
  view,
  scope,
  here,
}: {
  page: PageContext;
  house: House;
  catalogue: Catalogue;
  view: LimitView;
  scope: PlantScope;
  here: readonly string[];
}) => {
  const { limit } = view;
  const back = limitsPath(page.site.id, house.id);
  const plants = scopeInWords(catalogue, scope) || 'the whole house';
  const [only] = view.now;
  const now: SetValue | undefined = view.now.length === 1 ? only : undefined;
  return (
    <Layout title={frameTitle(house, limit.label)} site={page.site} severalSites={page.severalSites} shownAt={page.now}>
      <h1>{limit.label}</h1>
      <p>{house.name}</p>
      <p class="facts">For {plants}:</p>
      <p class="sum">{valuesWords(page, limit, view.now)}</p>
      {view.differs && <p class="changed">Not as usual.</p>}
      {view.now.length > 1 && <p>{dependsWords(scope)}</p>}
      <About page={page} limit={limit} usual={valuesWords(page, limit, view.usual)} source={view.source} />
      <ScopeForm
        action={`${back}/${limit.name}`}
        catalogue={catalogue}
        here={here}
        scope={scope}
        everyone="The whole house"
        perDrink={view.perDrink}
      />
      <OwnValues page={page} catalogue={catalogue} limit={limit} own={view.own} />
      <section class="part" aria-labelledby="set-head">
        <h2 id="set-head">Change it for {plants}</h2>
        {page.reader.isOwner ? (
          <LimitForm
            page={page}
            house={house}
            name={limit.name}
            of="limit"
            limit={limit}
            scope={scope}
            mayBeUnasked={view.mayBeUnasked}
            hasOwn={view.own.some((one) => scopeKey(one) === scopeKey({ ...scope, name: limit.name }))}
            {...(now !== undefined && { now })}
          />
        ) : (
          <p>{NO_OWNER}</p>
        )}
      </section>
      <a class="act" href={back}>
        All limits of {house.name}
      </a>
    </Layout>
  );
};

export const AlertLimitPage = ({
  page,
  house,
  view: { name, limit, now, differs, own },
}: {
  page: PageContext;
  house: House;
  view: AlertLimitView;
}) => {
  const shown: Shown = {
    ...limit,
    kind: 'number',
    bounds: [...limit.bounds],
    customary: [...limit.customary],
    whole: limit.whole === true,
  };
  const words = (value: number): string => valueWords(page, { kind: 'number', unit: limit.unit }, value);
  return (
    <Layout title={frameTitle(house, limit.label)} site={page.site} severalSites={page.severalSites} shownAt={page.now}>
      <h1>{limit.label}</h1>
      <p>{house.name}</p>
      <p class="sum">{words(now)}</p>
      {differs && <p class="changed">Not as usual.</p>}
      <About page={page} limit={shown} usual={words(limit.default)} source={limit.source} />
      {own && <SinceLine page={page} since={own} />}
      <section class="part" aria-labelledby="set-head">
        <h2 id="set-head">Change it for the whole house</h2>
        {page.reader.isOwner ? (
          <LimitForm
            page={page}
            house={house}
            name={name}
            of="alert"
            limit={shown}
            scope={{}}
            now={now}
            mayBeUnasked={false}
            hasOwn={own !== undefined}
          />
        ) : (
          <p>{NO_OWNER}</p>
        )}
      </section>
      <a class="act" href={limitsPath(page.site.id, house.id)}>
        All limits of {house.name}
      </a>
    </Layout>
  );
};
