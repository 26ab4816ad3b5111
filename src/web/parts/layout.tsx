import type { ComponentChildren } from 'preact';
import type { Site } from '../../domain/site.js';
import { clockAt } from '../../domain/time.js';
import { assetPath } from '../static.js';
import { IconSprite } from './icons.js';

export interface LayoutProps {
  readonly title: string;
  readonly site?: Site;
  /** More than one site: a way to the others. */
  readonly severalSites?: boolean;
  /** Instant of the answer, so that a kept copy can tell its age. */
  readonly shownAt: number;
  readonly children: ComponentChildren;
}

/** The frame of every page. */
export const Layout = ({ title, site, severalSites, shownAt, children }: LayoutProps) => (
  <html lang="en">
    <head>
      <meta charset="utf-8" />
      <title>{`${title} · Leafturn`}</title>
      <meta name="viewport" content="width=device-width, initial-scale=1" />
      <meta name="theme-color" content="#ffffff" />
      <link rel="stylesheet" href={assetPath('leafturn.css')} />
      <link rel="icon" href={assetPath('icon.svg')} type="image/svg+xml" />
      <link rel="manifest" href={assetPath('manifest.webmanifest')} />
      <script type="module" src={assetPath('leafturn.js')} />
    </head>
    <body data-shown-at={shownAt} data-clock={site && clockAt(site.zone, shownAt)} data-site={site?.id}>
      <IconSprite />
      <a class="skip" href="#main">
        Skip to the page
      </a>
      <header class="top">
        {site ? (
          <>
            <a class="top-name" href={sitePath(site.id)}>
              {site.name}
            </a>
            <a class="top-link" href={alertsPath(site.id)}>
              Alerts
            </a>
            <a class="top-link" href={`${sitePath(site.id)}/batches`}>
              Find batch
            </a>
            {severalSites && (
              <a class="top-link" href="/sites">
                Sites
              </a>
            )}
          </>
        ) : (
          <a class="top-name" href="/sites">
            Leafturn
          </a>
        )}
      </header>
      {/* Filled by the browser module: no connection, notes waiting on this phone, a newer list. */}
      <div id="live" role="status" />
      <main id="main">{children}</main>
    </body>
  </html>
);

export const sitePath = (siteId: string): string => `/sites/${siteId}`;
export const alertsPath = (siteId: string): string => `${sitePath(siteId)}/alerts`;
export const messagesPath = (siteId: string): string => `${sitePath(siteId)}/messages`;
export const alertPath = (siteId: string, alertId: number): string => `${alertsPath(siteId)}/${alertId}`;
export const housePath = (siteId: string, houseId: string): string => `${sitePath(siteId)}/houses/${houseId}`;
export const batchPath = (siteId: string, batchId: string): string => `/sites/${siteId}/batches/${batchId}`;
export const newBatchPath = (siteId: string): string => `${sitePath(siteId)}/new-batch`;
export const limitsPath = (siteId: string, houseId: string): string => `${housePath(siteId, houseId)}/limits`;
export const benchPath = (siteId: string, benchId: string): string => `/sites/${siteId}/benches/${benchId}`;
