import type { HouseNow } from '../../advice/house-now.js';
import type { Alert } from '../../domain/alerts.js';
import type { Collection } from '../../domain/collection.js';
import type { Band, HouseOutlook } from '../../domain/outlook.js';
import { quantityInfo } from '../../domain/quantities.js';
import type { House } from '../../domain/site.js';
import { clockAt, type LocalDay } from '../../domain/time.js';
import type { HouseShade } from '../../domain/verdict.js';
import { Age } from '../parts/age.js';
import { ClothForm } from '../parts/cloth-form.js';
import type { PageContext } from '../parts/context.js';
import { Icon } from '../parts/icons.js';
import { Layout, limitsPath, sitePath } from '../parts/layout.js';
import { ShadeDetails } from '../parts/shade.js';
import { assetPath } from '../static.js';
import { capital, count, decimal, shortDay, unitWords } from '../words.js';
import { OpenAlert } from './alerts.js';

const DAYS_AHEAD = 4;

/** One line of the table, and one place along the chart. */
interface DayRow {
  readonly day: LocalDay;
  readonly ahead: boolean;
  readonly max?: Band | number | undefined;
  readonly min?: Band | number | undefined;
  readonly dli?: number | undefined;
}

function dayRows(now: HouseNow, outlook: HouseOutlook | undefined): DayRow[] {
  const past = now.week.map((day) => ({
    day: day.day,
    ahead: false,
    max: day.dayMaxC?.value,
    min: day.nightMinC?.value,
    dli: day.dli?.value,
  }));
  const ahead = (outlook?.days ?? []).slice(0, DAYS_AHEAD).map((day) => ({
    day: day.day,
    ahead: true,
    max: day.dayMaxC,
    // The night that ends today is over as a rule, and then measured.
    min: day.lead === 0 ? (now.today.nightMinC?.value ?? day.nightMinC) : day.nightMinC,
    dli: day.dli,
  }));
  return [...past, ...ahead];
}

const figure = (value: Band | number | undefined): string => {
  if (value === undefined) return 'not known';
  if (typeof value === 'number') return `${decimal(value, 1)} °C`;
  return `${decimal(value.p50, 0)} °C (${decimal(value.p10, 0)} to ${decimal(value.p90, 0)})`;
};

/** Figures for the chart, which draws what the table says. */
const drawn = (name: string, value: Band | number | undefined): Record<string, string> => {
  if (value === undefined) return {};
  if (typeof value === 'number') return { [`data-${name}`]: String(value) };
  return {
    [`data-${name}`]: String(value.p50),
    [`data-${name}-low`]: String(value.p10),
    [`data-${name}-high`]: String(value.p90),
  };
};

const Days = ({ rows, outlook }: { rows: readonly DayRow[]; outlook: HouseOutlook | undefined }) => (
  <>
    <link rel="stylesheet" href={assetPath('uPlot.min.css')} />
    <figure class="chart" data-chart={assetPath('chart.js')} data-chart-lib={assetPath('uPlot.esm.js')} hidden>
      <figcaption>
        Day maximum and night minimum, °C.
        {outlook && ' The band of the coming days holds in eight days of ten.'}
      </figcaption>
      <div class="chart-here" />
    </figure>
    <table class="days">
      <caption>
        {outlook
          ? 'The last seven days, and those to come with the range that holds in eight days of ten'
          : 'The last seven days'}
      </caption>
      <thead>
        <tr>
          <th scope="col">Day</th>
          <th scope="col">Highest</th>
          <th scope="col">Lowest of the night before</th>
          <th scope="col">Light</th>
        </tr>
      </thead>
      <tbody>
        {rows.map((row) => (
          <tr
            class={row.ahead ? 'is-ahead' : ''}
            data-day={row.day}
            {...drawn('max', row.max)}
            {...drawn('min', row.min)}
          >
            <th scope="row">
              {shortDay(row.day)}
              {row.ahead && <span class="facts"> to come</span>}
            </th>
            <td data-label="Highest">{figure(row.max)}</td>
            <td data-label="Lowest of the night before">{figure(row.min)}</td>
            <td data-label="Light">{row.dli === undefined ? 'not known' : `${decimal(row.dli, 0)} mol a day`}</td>
          </tr>
        ))}
      </tbody>
    </table>
  </>
);

const Now = ({ now, page }: { now: HouseNow; page: PageContext }) =>
  now.readings.length === 0 ? (
    <p class="stale">
      <Icon name="stale" /> No sensor of this house has been heard. Its climate is not known.
    </p>
  ) : (
    <ul class="readings">
      {now.readings.map(({ quantity, sensorId, value, at }) => (
        <li>
          <b>
            {decimal(value, Math.abs(value) < 100 ? 1 : 0)} {unitWords(quantityInfo(quantity).unit)}
          </b>{' '}
          {capital(quantityInfo(quantity).label)}
          <span class="facts">
            {sensorId}, {clockAt(page.site.zone, at)}
            <Age at={at} now={page.now} />
          </span>
        </li>
      ))}
    </ul>
  );

const Learned = ({ outlook }: { outlook: HouseOutlook }) => {
  const { skill, learned } = outlook;
  return (
    <section aria-labelledby="learned">
      <h2 id="learned">What this house has taught</h2>
      {learned.length === 0 && <p>Nothing yet: it takes some days of readings.</p>}
      {learned.length > 0 && (
        <ul>
          {learned.map((sentence) => (
            <li>{sentence}</li>
          ))}
        </ul>
      )}
      {skill && (
        <p>
          Over the last {skill.days} days the forecast of the day's highest was out by {decimal(skill.maeC, 1)} °C on
          the average; “same as yesterday” by {decimal(skill.persistenceMaeC, 1)} °C. The range held on{' '}
          {Math.round(skill.bandHeld * 100)} of 100 days; 80 is what it promises.
        </p>
      )}
    </section>
  );
};

export interface HousePageProps {
  readonly page: PageContext;
  readonly house: House;
  readonly now: HouseNow;
  readonly outlook?: HouseOutlook;
  readonly shade?: HouseShade;
  readonly alerts: readonly Alert[];
  readonly collection: Collection;
}

/** One house: now, the last week, the days to come, cloth, and what its own model has learned. */
export const HousePage = ({ page, house, now, outlook, shade, alerts, collection }: HousePageProps) => (
  <Layout title={house.name} site={page.site} severalSites={page.severalSites} shownAt={page.now}>
    <h1>{house.name}</h1>
    {alerts.length > 0 && (
      <section aria-labelledby="house-alerts">
        <h2 id="house-alerts">{count(alerts.length, 'open alert')}</h2>
        {alerts.map((alert) => (
          <OpenAlert alert={alert} page={page} collection={collection} />
        ))}
      </section>
    )}
    <section aria-labelledby="now">
      <h2 id="now">Now</h2>
      <Now now={now} page={page} />
    </section>
    <section aria-labelledby="days">
      <h2 id="days">Days</h2>
      <p>
        {outlook
          ? `The days to come: ${outlook.from}.`
          : 'The days to come are not told: they are being worked out just now, or the readings of this house are too few or too old.'}
      </p>
      <Days rows={dayRows(now, outlook)} outlook={outlook} />
    </section>
    <section aria-labelledby="shade">
      <h2 id="shade">Shade</h2>
      <p>{shade?.sentence ?? 'Light is not known here, so no cloth is advised.'}</p>
      {shade && <ShadeDetails shade={shade} />}
      <ClothForm page={page} houseId={house.id} />
    </section>
    {outlook && <Learned outlook={outlook} />}
    <a class="act" href={limitsPath(page.site.id, house.id)}>
      Limits of this house
    </a>
    <a class="act" href={`${sitePath(page.site.id)}#house-${house.id}`}>
      Back to the list
    </a>
  </Layout>
);
