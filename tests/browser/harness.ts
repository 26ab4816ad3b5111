import { existsSync } from 'node:fs';
import { type Browser, type BrowserContext, type BrowserContextOptions, chromium, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe } from 'vitest';
import type { Round } from '../../src/domain/verdict.js';
import { type PageService, pageService } from '../web/fixtures/service.js';

const CHROMIUM = '/usr/bin/chromium';
const hasBrowser = existsSync(CHROMIUM);

/** A phone as growers carry it, and the narrowest still sold. */
export const PHONE = { width: 390, height: 844 };
export const NARROW_PHONE = { width: 360, height: 740 };

export interface Bench {
  readonly service: PageService;
  readonly url: string;
  open(options?: BrowserContextOptions): Promise<{ page: Page; context: BrowserContext }>;
}

/** Tests in a real browser against the pages over a real database. Each test starts its own service with `bench`. */
export function describeInBrowser(name: string, tests: (start: (rounds?: Round[]) => Promise<Bench>) => void): void {
  if (!hasBrowser) console.log(`Left out: ${name} (no browser at ${CHROMIUM})`);
  describe.skipIf(!hasBrowser)(name, () => {
    let browser: Browser;
    const closing: (() => Promise<void>)[] = [];
    beforeAll(async () => {
      browser = await chromium.launch({
        executablePath: CHROMIUM,
        args: [
          '--headless',
          '--no-sandbox',
          '--disable-gpu',
          '--disable-quic',
          '--no-first-run',
          '--disable-background-networking',
          '--disable-component-update',
          '--disable-sync',
          // A name that is not this machine's own: to the browser a house network without https.
          '--host-resolver-rules=MAP greenhouse.test 127.0.0.1',
        ],
      });
    });
    afterAll(async () => {
      await browser?.close();
      for (const close of closing) await close();
    });
    tests(async (rounds) => {
      const service = await pageService(rounds);
      const url = await service.app.listen({ port: 0, host: '127.0.0.1' });
      closing.push(() => service.close());
      return {
        service,
        url,
        async open(options = {}) {
          const context = await browser.newContext({ viewport: PHONE, isMobile: true, hasTouch: true, ...options });
          const page = await context.newPage();
          page.on('pageerror', (error) => {
            throw error;
          });
          return { page, context };
        },
      };
    });
  });
}
