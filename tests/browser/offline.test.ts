import type { BrowserContext, Page } from 'playwright-core';
import { expect, it } from 'vitest';
import { type Bench, describeInBrowser } from './harness.js';

const LIST = '/sites/hillside';

/** Opens the list and waits until this browser holds all it needs to show it again alone. */
async function keptList(bench: Bench): Promise<{ page: Page; context: BrowserContext }> {
  const { page, context } = await bench.open();
  await page.goto(bench.url + LIST);
  await page.waitForFunction(async () => {
    const paths = (await (await caches.open('leafturn-1')).keys()).map((one) => new URL(one.url).pathname);
    return [
      '/sites/hillside',
      '/sites/hillside/note',
      '/assets/leafturn.css',
      '/assets/leafturn.js',
      '/assets/outbox.js',
    ].every((path) => paths.includes(path));
  });
  // The worker may hold the page before it answers for it.
  await page.waitForFunction(() => navigator.serviceWorker.controller?.state === 'activated');
  return { page, context };
}

async function entries({ service }: Bench) {
  return service.storage.journal.list({ siteId: 'hillside', kinds: ['watering', 'signs'], limit: 100 });
}

describeInBrowser('without a connection', (start) => {
  it('the last list opens with its age, and a drink noted then is entered once when the connection is back', async () => {
    const bench = await start();
    const { page, context } = await keptList(bench);
    await context.setOffline(true);
    await page.reload();
    expect(await page.locator('h1').textContent()).toBe('Sunday 25 October 2026');
    await page.getByText(/^No connection\. Page as of 07:30,/).waitFor();

    await page.getByRole('button', { name: 'Done as advised: Tray 6,' }).click();
    await page.getByText('Kept on this phone: Done as advised: Tray 6,').waitFor();
    await page.getByText('1 note waits here.').waitFor();
    // Opened anew, still without a connection: what was tapped must not look untouched.
    await page.reload();
    await page.getByText('Kept on this phone: Done as advised: Tray 6,').waitFor();
    expect(await entries(bench)).toHaveLength(0);

    // An hour later by the clock of the service; the tap keeps the moment it was made.
    const tappedAt = bench.service.state.now;
    bench.service.state.now += 3_600_000;
    await page.evaluate(() => {
      const real = Date.now;
      Date.now = () => real() + 3_600_000;
    });
    await context.setOffline(false);
    await page.evaluate(() => dispatchEvent(new Event('online')));
    await page.locator('#b-tray-6.is-done').waitFor();
    await page.getByText('1 note waits here.').waitFor({ state: 'detached' });
    const [entry, ...others] = await entries(bench);
    expect(others).toEqual([]);
    expect(entry?.event).toMatchObject({ batchIds: ['tray-6'], amount: 'full', mlPerPot: 35 });
    expect(Math.abs((entry?.happenedAt ?? 0) - tappedAt)).toBeLessThan(60_000);
    expect(entry?.enteredAt).toBe(bench.service.state.now);
  });

  it('a note on a batch whose page was never opened goes to that batch', async () => {
    const bench = await start();
    const { page, context } = await keptList(bench);
    // A form that was opened before, for another batch, must not be taken for this one.
    await page.goto(`${bench.url}${LIST}/note?batch=tray-33`);
    await page.goto(bench.url + LIST);
    await context.setOffline(true);
    await page.locator('#look').getByRole('link', { name: 'Note what you saw: Tray 9,' }).click();
    await page.locator('#note-name', { hasText: 'Tray 9,' }).waitFor();
    await page.getByRole('group', { name: 'New leaf pair' }).getByText('Soft', { exact: true }).click();
    await page.getByRole('button', { name: 'Keep this note' }).click();
    await page.getByText('Kept on this phone: Keep this note').waitFor();
    await context.setOffline(false);
    await page.evaluate(() => dispatchEvent(new Event('online')));
    await page.getByText('1 note waits here.').waitFor({ state: 'detached' });
    expect((await entries(bench)).map((entry) => entry.event)).toEqual([
      { kind: 'signs', batchIds: ['tray-9'], newPair: 'soft', signs: [], gone: [] },
    ]);
  });

  it('an answer lost on the way leads to one entry', async () => {
    const bench = await start();
    const { page } = await keptList(bench);
    let lost = 0;
    await page.route(
      '**/ticks',
      async (route) => {
        await route.fetch();
        lost += 1;
        await route.abort();
      },
      { times: 1 },
    );
    await page.getByRole('button', { name: 'Done as advised: Tray 6,' }).click();
    await page.getByText('Kept on this phone: Done').waitFor();
    await page.evaluate(() => dispatchEvent(new Event('online')));
    await page.locator('#b-tray-6.is-done').waitFor();
    expect(lost).toBe(1);
    expect(await entries(bench)).toHaveLength(1);
  });

  it('what the service refuses for good stays visible with its reason until it is put away', async () => {
    const bench = await start();
    const { page, context } = await keptList(bench);
    await context.setOffline(true);
    await page.getByRole('button', { name: 'Done as advised: Tray 6,' }).click();
    await page.getByText('1 note waits here.').waitFor();
    await bench.service.keeper.record('hillside', [{ kind: 'batch-ended', batchId: 'tray-6', reason: 'sold' }], {
      by: 'Bea',
      happenedAt: bench.service.state.now - 600_000,
    });
    await context.setOffline(false);
    await page.evaluate(() => dispatchEvent(new Event('online')));
    await page.getByText(/^Not taken: Done as advised: Tray 6,/).waitFor();
    await page.getByRole('button', { name: 'Put this away' }).click();
    await page.getByText(/^Not taken/).waitFor({ state: 'detached' });
    expect(await entries(bench)).toHaveLength(0);
  });

  it('on a house network without https forms are taken as ours, and a lost connection still loses no tap', async () => {
    const bench = await start();
    const { page } = await bench.open();
    await page.goto(bench.url.replace('127.0.0.1', 'greenhouse.test') + LIST);
    expect(await page.evaluate(() => isSecureContext)).toBe(false);
    await page.getByRole('button', { name: 'Done as advised: Tray 6,' }).click();
    await page.locator('#b-tray-6.is-done').waitFor();
    await page.route('**/ticks', (route) => route.abort(), { times: 1 });
    await page.getByRole('button', { name: 'Done as advised: Tray 7,' }).click();
    await page.getByText('Kept on this phone: Done as advised: Tray 7,').waitFor();
    await page.evaluate(() => dispatchEvent(new Event('online')));
    await page.locator('#b-tray-7.is-done').waitFor();
    expect(await entries(bench)).toHaveLength(2);
  });
});
