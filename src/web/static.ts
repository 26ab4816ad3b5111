import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { FastifyInstance } from 'fastify';
import { sendText, setPageHeaders } from './reply.js';

const TYPES = {
  'leafturn.css': 'text/css; charset=utf-8',
  'leafturn.js': 'text/javascript; charset=utf-8',
  'outbox.js': 'text/javascript; charset=utf-8',
  'chart.js': 'text/javascript; charset=utf-8',
  'uPlot.esm.js': 'text/javascript; charset=utf-8',
  'uPlot.min.css': 'text/css; charset=utf-8',
  'icon.svg': 'image/svg+xml',
  'manifest.webmanifest': 'application/manifest+json',
  'sw.js': 'text/javascript; charset=utf-8',
} as const;
export type Asset = keyof typeof TYPES;

const { resolve } = createRequire(import.meta.url);
/** Files of a package, served as they are. */
const FROM_PACKAGES: Partial<Record<Asset, string>> = {
  'uPlot.esm.js': resolve('uplot/dist/uPlot.esm.js'),
  'uPlot.min.css': resolve('uplot/dist/uPlot.min.css'),
};
const fileOf = (name: Asset): string | URL => FROM_PACKAGES[name] ?? new URL(`./assets/${name}`, import.meta.url);

const assets = new Map(
  (Object.keys(TYPES) as Asset[]).map((name) => {
    const text = readFileSync(fileOf(name), 'utf8');
    return [name, { text, version: createHash('sha256').update(text).digest('hex').slice(0, 10) }] as const;
  }),
);

/** Address that changes with the content, so that a browser may keep the file for ever. */
export function assetPath(name: Asset): string {
  return `/assets/${name}?v=${assets.get(name)?.version ?? ''}`;
}

export function registerAssets(app: FastifyInstance): void {
  for (const [name, asset] of assets) {
    if (name === 'sw.js') continue;
    app.get(`/assets/${name}`, { config: { role: 'open' } }, (request, reply) => {
      setPageHeaders(reply).header('cache-control', 'public, max-age=31536000, immutable');
      return sendText(request, reply, TYPES[name], asset.text);
    });
  }
  // At the top, so that it may answer for every page; always asked for anew, so that a new one takes over.
  app.get('/sw.js', { config: { role: 'open' } }, (request, reply) => {
    setPageHeaders(reply).header('cache-control', 'no-cache');
    return sendText(request, reply, TYPES['sw.js'], assets.get('sw.js')?.text ?? '');
  });
}
