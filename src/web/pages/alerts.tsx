import type { Alert } from '../../domain/alerts.js';
import type { Collection } from '../../domain/collection.js';
import { findHouse } from '../../domain/site.js';
import type { PageContext } from '../parts/context.js';
import { Icon } from '../parts/icons.js';
import { alertPath, alertsPath, batchPath, Layout, messagesPath, sitePath } from '../parts/layout.js';
import { alertWords, count, momentInWords } from '../words.js';

/** More batches than these are counted. */
const BATCHES_NAMED = 6;

/** `likely, 7 in 10`. Never certain: it is a forecast. */
export function chanceWords(probability: number): string {
  const words =
    probability >= 0.85
      ? 'very likely'
      : probability >= 0.6
        ? 'likely'
        : probability >= 0.4
          ? 'as likely as not'
          : 'possible';
  const tenths = Math.round(probability * 10);
  return `${words}, ${tenths < 1 ? 'less than 1' : tenths > 9 ? 'more than 9' : tenths} in 10`;
}

const AtRisk = ({ alert, page, collection }: { alert: Alert; page: PageContext; collection: Collection }) => {
  if (alert.batchIds.length === 0) return null;
  const named = alert.batchIds.slice(0, BATCHES_NAMED);
  return (
    <details>
      <summary>{count(alert.batchIds.length, 'batch', 'batches')} at risk</summary>
      <ul>
        {named.map((batchId) => (
          <li>
            <a href={batchPath(page.site.id, batchId)}>{collection.batches.get(batchId)?.name ?? batchId}</a>
          </li>
        ))}
        {alert.batchIds.length > named.length && <li>and {alert.batchIds.length - named.length} more</li>}
      </ul>
    </details>
  );
};

const Answer = ({ alert, page }: { alert: Alert; page: PageContext }) => {
  if (!page.reader.mayWrite) return null;
  const action = (what: string): string => `${alertPath(page.site.id, alert.id)}/${what}`;
  const name = alert.text.title;
  return (
    <div class="buttons">
      {!alert.acknowledged && (
        <form method="post" action={action('acknowledge')}>
          <button type="submit" class="strong" aria-label={`I have seen to it: ${name}`}>
            I have seen to it
          </button>
        </form>
      )}
      <form method="post" action={action('snooze')} class="buttons">
        {alert.snoozedUntil !== undefined && alert.snoozedUntil > page.now ? (
          <button type="submit" name="until" value="none" aria-label={`Tell me again: ${name}`}>
            Tell me again
          </button>
        ) : (
          <>
            <button type="submit" name="until" value="morning" aria-label={`Quiet until morning: ${name}`}>
              Quiet until morning
            </button>
            <button type="submit" name="until" value="three-days" aria-label={`Quiet for 3 days: ${name}`}>
              Quiet for 3 days
            </button>
          </>
        )}
      </form>
    </div>
  );
};

export const OpenAlert = ({ alert, page, collection }: { alert: Alert; page: PageContext; collection: Collection }) => {
  const { zone } = page.site;
  const { text } = alert;
  const house = alert.houseId === null ? undefined : findHouse(page.site, alert.houseId)?.name;
  return (
    <article class={`alert ${alert.level === 'danger' ? 'is-danger' : ''}`} id={`alert-${alert.id}`}>
      <h3>
        <Icon name="alert" /> {text.title}
      </h3>
      <p class="facts">
        {[
          house,
          alertWords(alert.kind),
          alert.probability !== undefined && chanceWords(alert.probability),
          alert.expectedAt !== undefined && `expected ${momentInWords(zone, alert.expectedAt)}`,
          `told ${momentInWords(zone, alert.firedAt ?? alert.pendingSince)}`,
        ]
          .filter(Boolean)
          .join(' · ')}
      </p>
      <p>{text.reason}</p>
      <p>
        <b>What to do.</b> {text.whatToDo}
      </p>
      {text.buys && (
        <p>
          <b>What it would buy.</b> {text.buys}
        </p>
      )}
      {text.caution && (
        <p class="caution">
          <b>Take care.</b> {text.caution}
        </p>
      )}
      <AtRisk alert={alert} page={page} collection={collection} />
      {alert.acknowledged && (
        <p class="facts">
          {alert.acknowledged.by} has seen to it, {momentInWords(zone, alert.acknowledged.at)}.
        </p>
      )}
      {alert.snoozedUntil !== undefined && alert.snoozedUntil > page.now && (
        <p class="facts">Quiet until {momentInWords(zone, alert.snoozedUntil)}, unless it gets worse.</p>
      )}
      <Answer alert={alert} page={page} />
    </article>
  );
};

export interface AlertsPageProps {
  readonly page: PageContext;
  readonly open: readonly Alert[];
  readonly past: readonly Alert[];
  /** Where older ones go on; left out: there are none. */
  readonly older?: string;
  readonly collection: Collection;
  readonly said?: string;
}

/** Everything people were warned of: what is open, and how the past ones turned out. */
export const AlertsPage = ({ page, open, past, older, collection, said }: AlertsPageProps) => (
  <Layout title="Alerts" site={page.site} severalSites={page.severalSites} shownAt={page.now}>
    <h1>Alerts</h1>
    {said && (
      <p class="said" role="status">
        {said}
      </p>
    )}
    <section aria-labelledby="open-alerts">
      <h2 id="open-alerts">{open.length === 0 ? 'Nothing is wrong' : count(open.length, 'open alert')}</h2>
      {open.length === 0 && <p>No heat, frost, wet night or silent sensor is known of.</p>}
      {open.map((alert) => (
        <OpenAlert alert={alert} page={page} collection={collection} />
      ))}
    </section>
    <section aria-labelledby="past-alerts">
      <h2 id="past-alerts">How earlier ones turned out</h2>
      {past.length === 0 && <p>There are none yet.</p>}
      <ul class="history">
        {past.map((alert) => (
          <li>
            <b>{alert.text.title}</b>
            <span class="facts">
              {momentInWords(page.site.zone, alert.firedAt ?? alert.pendingSince)}
              {alert.acknowledged && ` · ${alert.acknowledged.by} saw to it`}
            </span>
            <span>{alert.outcome ?? 'How it turned out is not known yet.'}</span>
          </li>
        ))}
      </ul>
      {older && (
        <a class="act" href={`${alertsPath(page.site.id)}?${older}`}>
          Older ones
        </a>
      )}
    </section>
    <a class="act" href={messagesPath(page.site.id)}>
      How messages are sent
    </a>
    <a class="act" href={sitePath(page.site.id)}>
      Back to the list
    </a>
  </Layout>
);
