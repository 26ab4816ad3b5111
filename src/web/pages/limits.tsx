import type { ComponentChildren } from 'preact';
import type { AlertLimitView, LimitsView, LimitView, OwnValue } from '../../advice/limits-view.js';
import { scopeInWords } from '../../advice/limits-view.js';
import { ALERT_KINDS } from '../../domain/alerts.js';
import type { Catalogue } from '../../domain/catalogue.js';
import type { House } from '../../domain/site.js';
import { clockAt, dayInWords, localDayOf } from '../../domain/time.js';
import { valuesWords, valueWords } from '../limit-words.js';
import type { PageContext } from '../parts/context.js';
import { Icon } from '../parts/icons.js';
import { Layout, limitsPath, sitePath } from '../parts/layout.js';
import { TasksForm } from '../parts/limit-form.js';
import { type PlantScope, ScopeForm, scopeQuery } from '../parts/scope-form.js';
import { alertWords, count } from '../words.js';

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

const Row = ({ href, label, now, usual }: { href: string; label: string; now: string; usual?: string }) => (
  <li class={usual === undefined ? 'limit' : 'limit is-own'}>
    <a href={href}>
      <span class="name">{label}</span>
      <span class="limit-now">{now}</span>
      {usual !== undefined && <span class="limit-usual">usual: {usual}</span>}
    </a>
  </li>
);

const Section = ({ id, heading, children }: { id: string; heading: string; children: ComponentChildren }) => (
  <section class="limits" id={`s-${id}`} aria-labelledby={`h-${id}`}>
    <h2 id={`h-${id}`}>{heading}</h2>
    {children}
  </section>
);

const alertId = (kind: string): string => `alerts-${kind}`;

const AlertSections = ({
  page,
  house,
  alerts,
}: Pick<LimitsProps, 'page' | 'house'> & { alerts: readonly AlertLimitView[] }) => (
  <>
    {ALERT_KINDS.filter((kind) => alerts.some(({ limit }) => limit.kind === kind)).map((kind) => (
      <Section id={alertId(kind)} heading={`Alert: ${alertWords(kind).toLowerCase()}`}>
        <ul class="rows">
          {alerts
            .filter(({ limit }) => limit.kind === kind)
            .map(({ name, limit, now, differs }) => (
              <Row
                href={`${limitsPath(page.site.id, house.id)}/alert/${name}`}
                label={limit.label}
                now={valueWords(page, { kind: 'number', unit: limit.unit }, now)}
                {...(differs && { usual: valueWords(page, { kind: 'number', unit: limit.unit }, limit.default) })}
              />
            ))}
        </ul>
      </Section>
    ))}
  </>
);

/** What was set and does not hold, because another rulebook is in use since. */
const LeftOut = ({ catalogue, leftOut }: { catalogue: Catalogue; leftOut: readonly OwnValue[] }) =>
  leftOut.length === 0 ? null : (
    <div class="stale">
      <Icon name="stale" />
      <div>
        <p>These were set, but the rules in use now do not take them. They do not hold.</p>
        <ul>
          {leftOut.map((own) => (
            <li>
              {own.name}
              {scopeInWords(catalogue, own) && ` (${scopeInWords(catalogue, own)})`}: {JSON.stringify(own.value)}
            </li>
          ))}
        </ul>
      </div>
    </div>
  );

const Jumps = ({ view }: { view: LimitsView }) => {
  const own = (limits: readonly { readonly differs: boolean }[]): number =>
    limits.filter(({ differs }) => differs).length;
  const words = (limits: readonly { readonly differs: boolean }[]): string =>
    own(limits) === 0 ? '' : `${own(limits)} not as usual`;
  const kinds = ALERT_KINDS.filter((kind) => view.alerts.some(({ limit }) => limit.kind === kind));
  return (
    <nav class="jumps" aria-label="Kinds of limits">
      <ul>
        {view.sections.map(({ id, heading, limits }) => (
          <li>
            <a href={`#s-${id}`}>
              <span class="name">{heading}</span> <span class="facts">{words(limits)}</span>
            </a>
          </li>
        ))}
        <li>
          <a href={`#s-${alertId(kinds[0] ?? '')}`}>
            <span class="name">Alerts</span> <span class="facts">{words(view.alerts)}</span>
          </a>
        </li>
        <li>
          <a href="#s-tasks">
            <span class="name">Other tasks</span>{' '}
            <span class="facts">
              {view.settings.tasksOff.length > 0 && `${count(view.settings.tasksOff.length, 'task')} not shown`}
            </span>
          </a>
        </li>
      </ul>
    </nav>
  );
};

/** Every limit of a house. What is not as usual stands out. */
export const LimitsPage = ({ page, house, catalogue, view, scope, here, said }: LimitsProps) => {
  const { settings } = view;
  const query = scopeQuery(scope);
  const rowOf = ({ limit, now, usual, differs }: LimitView) => (
    <Row
      href={`${limitsPath(page.site.id, house.id)}/${limit.name}${query}`}
      label={limit.label}
      now={valuesWords(page, limit, now)}
      {...(differs && { usual: valuesWords(page, limit, usual) })}
    />
  );
  const chosen = scopeInWords(catalogue, scope);
  return (
    <Layout title={`Limits of ${house.name}`} site={page.site} severalSites={page.severalSites} shownAt={page.now}>
      <h1>Limits of {house.name}</h1>
      {said && <p role="status">{said}</p>}
      <p>What the rules go by in this house. Tap a limit to see why it is so, and to change it.</p>
      {settings.revision === 0 ? (
        <p>Nothing was set here yet: the usual holds.</p>
      ) : (
        <SinceLine page={page} since={settings} />
      )}
      <LeftOut catalogue={catalogue} leftOut={view.leftOut} />
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
      <Jumps view={view} />
      {view.sections.map(({ id, heading, limits }) => (
        <Section id={id} heading={heading}>
          <ul class="rows">{limits.map(rowOf)}</ul>
        </Section>
      ))}
      <AlertSections page={page} house={house} alerts={view.alerts} />
      <Section id="tasks" heading="Other tasks">
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
