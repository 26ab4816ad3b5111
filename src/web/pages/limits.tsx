import type { ComponentChildren } from 'preact';
import type { AlertLimitView, LimitsView, LimitView, OwnValue } from '../../advice/limits-view.js';
import { scopeInWords } from '../../advice/limits-view.js';
import { ALERT_KINDS, type AlertKind } from '../../domain/alerts.js';
import type { Catalogue } from '../../domain/catalogue.js';
import type { SetValue } from '../../domain/house-settings.js';
import type { House } from '../../domain/site.js';
import { clockAt, dayInWords, localDayOf } from '../../domain/time.js';
import { valuesWords, valueWords } from '../limit-words.js';
import type { PageContext } from '../parts/context.js';
import { Icon } from '../parts/icons.js';
import { Layout, limitsPath, sitePath } from '../parts/layout.js';
import { TasksForm } from '../parts/limit-form.js';
import { type PlantScope, ScopeForm, scopeQuery } from '../parts/scope-form.js';
import { alertWords, capital, count } from '../words.js';

export const historyPath = (siteId: string, houseId: string): string =>
  `${sitePath(siteId)}/houses/${houseId}/limit-history`;

export interface LimitsProps {
  readonly page: PageContext;
  readonly house: House;
  readonly catalogue: Catalogue;
  readonly view: LimitsView;
  readonly scope: PlantScope;
  /** Species groups that stand in the house. */
  readonly here: readonly string[];
  readonly said?: string;
}

/** When, by whom and why something was set. */
export const SinceLine = ({ page, since }: { page: PageContext; since: Pick<OwnValue, 'at' | 'by' | 'why'> }) => (
  <span class="facts">
    Set {dayInWords(localDayOf(page.site.zone, since.at))}, {clockAt(page.site.zone, since.at)}, by {since.by}:{' '}
    {since.why}
  </span>
);

const Row = ({
  href,
  label,
  now,
  notUsual = [],
}: {
  href: string;
  label: string;
  now: string;
  /** What is not as usual, in words. */
  notUsual?: readonly string[];
}) => (
  <li class={notUsual.length === 0 ? 'limit' : 'limit is-own'}>
    <a href={href}>
      <span class="name">{label}</span>
      <span class="limit-now">{now}</span>
      {notUsual.map((words) => (
        <span>{words}</span>
      ))}
    </a>
  </li>
);

/** `usual: 7 days`, and what was set for some plants alone. */
function notUsualWords({ page, catalogue }: Pick<LimitsProps, 'page' | 'catalogue'>, view: LimitView): string[] {
  if (!view.differs) return [];
  const [now, usual] = [view.now, view.usual].map((values) => valuesWords(page, view.limit, values));
  const forSome = view.own.flatMap((own) => {
    const where = scopeInWords(catalogue, own);
    return where ? [`${where}: ${valueWords(page, view.limit, own.value)}`] : [];
  });
  return [...(now === usual ? [] : [`usual: ${usual}`]), ...forSome];
}

/** Folded unless something in it is not as usual. */
const Section = ({
  id,
  heading,
  limits,
  children,
}: {
  id: string;
  heading: string;
  limits: readonly { readonly differs: boolean }[];
  children: ComponentChildren;
}) => {
  const own = limits.filter(({ differs }) => differs).length;
  return (
    <details class="limits" id={`s-${id}`} open={own > 0}>
      <summary>
        <h2>{heading}</h2>
        {own > 0 && <span class="facts">{own} not as usual</span>}
      </summary>
      {children}
    </details>
  );
};

const ofKind = (alerts: readonly AlertLimitView[], kind: AlertKind): AlertLimitView[] =>
  alerts.filter(({ limit }) => limit.kind === kind);

const AlertSections = ({
  page,
  house,
  alerts,
}: Pick<LimitsProps, 'page' | 'house'> & { alerts: readonly AlertLimitView[] }) => (
  <>
    {ALERT_KINDS.filter((kind) => ofKind(alerts, kind).length > 0).map((kind) => (
      <Section id={`alert-${kind}`} heading={`Alert: ${alertWords(kind).toLowerCase()}`} limits={ofKind(alerts, kind)}>
        <ul class="rows">
          {ofKind(alerts, kind).map(({ name, limit, now, differs }) => (
            <Row
              href={`${limitsPath(page.site.id, house.id)}/alert/${name}`}
              label={limit.label}
              now={valueWords(page, { kind: 'number', unit: limit.unit }, now)}
              {...(differs && {
                notUsual: [`usual: ${valueWords(page, { kind: 'number', unit: limit.unit }, limit.default)}`],
              })}
            />
          ))}
        </ul>
      </Section>
    ))}
  </>
);

/** What was set and does not hold, because another rulebook is in use since. */
const LeftOut = ({ catalogue, view }: { catalogue: Catalogue; view: LimitsProps['view'] }) => {
  const { leftOut } = view;
  const labels = new Map(view.sections.flatMap(({ limits }) => limits.map(({ limit }) => [limit.name, limit.label])));
  return leftOut.length === 0 ? null : (
    <div class="stale">
      <Icon name="stale" />
      <div>
        <p>These were set, but the rules in use now do not take them. They do not hold.</p>
        <ul>
          {leftOut.map((own) => (
            <li>
              {labels.get(own.name) ?? capital(own.name.replaceAll('-', ' '))}
              {scopeInWords(catalogue, own) && ` (${scopeInWords(catalogue, own)})`}: {plainValue(own.value)}
            </li>
          ))}
        </ul>
      </div>
    </div>
  );
};

/** A value of which nobody says any more what it means. */
const plainValue = (value: SetValue): string =>
  value === null
    ? 'not asked'
    : typeof value === 'boolean'
      ? value
        ? 'yes'
        : 'no'
      : String(value).replaceAll(',', ' to ');

/** Every limit of a house. What is not as usual stands out. */
export const LimitsPage = ({ page, house, catalogue, view, scope, here, said }: LimitsProps) => {
  const { settings } = view;
  const query = scopeQuery(scope);
  const rowOf = (one: LimitView) => (
    <Row
      href={`${limitsPath(page.site.id, house.id)}/${one.limit.name}${query}`}
      label={one.limit.label}
      now={valuesWords(page, one.limit, one.now)}
      notUsual={notUsualWords({ page, catalogue }, one)}
    />
  );
  const chosen = scopeInWords(catalogue, scope);
  return (
    <Layout title={`Limits of ${house.name}`} site={page.site} severalSites={page.severalSites} shownAt={page.now}>
      <h1>Limits of {house.name}</h1>
      <p class="printed">
        {page.site.name} · {dayInWords(localDayOf(page.site.zone, page.now))}
      </p>
      {said && <p role="status">{said}</p>}
      <p>What the rules go by in this house. Tap a limit to see why it is so, and to change it.</p>
      {settings.revision === 0 ? (
        <p>Nothing was set here yet: the usual holds.</p>
      ) : (
        <SinceLine page={page} since={settings} />
      )}
      <LeftOut catalogue={catalogue} view={view} />
      <a class="act" href={historyPath(page.site.id, house.id)}>
        What was set before, and going back
      </a>
      <ScopeForm
        action={limitsPath(page.site.id, house.id)}
        catalogue={catalogue}
        here={here}
        scope={scope}
        everyone={here.length > 0 ? 'All groups in this house' : 'All groups'}
      />
      <p>
        Shown for{' '}
        <b>{chosen || (here.length > 0 ? `the ${count(here.length, 'group')} in this house` : 'all species groups')}</b>
        . Where two values stand, it depends on the plants.
      </p>
      {view.sections.map(({ id, heading, limits }) => (
        <Section id={id} heading={heading} limits={limits}>
          <ul class="rows">{limits.map(rowOf)}</ul>
        </Section>
      ))}
      <AlertSections page={page} house={house} alerts={view.alerts} />
      <Section id="tasks" heading="Other tasks" limits={settings.tasksOff.map(() => ({ differs: true }))}>
        <TasksForm page={page} house={house} settings={settings} />
      </Section>
      <p class="caution">
        Limits only change what is advised. For heating, electricity and sprays follow your local rules and a licensed
        person.
      </p>
      <a class="act" href={`${sitePath(page.site.id)}#house-${house.id}`}>
        Back to the list
      </a>
    </Layout>
  );
};
