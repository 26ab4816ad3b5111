import { expect, it } from 'vitest';
import { morning } from '../web/fixtures/scenario.js';
import { dueList } from '../web/fixtures/tasks.js';
import { type Bench, describeInBrowser } from './harness.js';

const LIST = '/sites/hillside';
const withTasks = () => [morning(14, { tasks: dueList() })];

async function done({ service }: Bench) {
  const kinds = ['task-done', 'repotting'] as const;
  const entries = await service.storage.journal.list({ siteId: 'hillside', kinds, limit: 100 });
  return entries.map((entry) => entry.event);
}

describeInBrowser('the second list', (start) => {
  it('works without scripts: why and how, done, seen as done, taken back', async () => {
    const bench = await start(withTasks());
    const { page } = await bench.open({ javaScriptEnabled: false });
    await page.goto(bench.url + LIST);
    const row = page.locator('#t-inspect-mealybugs-long-house-1');
    await row.getByText('Why and how').click();
    expect(await row.textContent()).toContain('702 degree-days above 8.5 °C since the last look on 3 March');
    expect(await row.textContent()).toContain('label, local law and licensed practice');
    await row.getByRole('button', { name: 'Done: Look for mealybugs, Long house' }).click();
    await page.waitForURL(/#t-inspect-mealybugs-long-house-1$/);
    expect(await row.textContent()).toContain('Looked for mealybugs at 07:30 by Ada, Long house');
    expect(await done(bench)).toEqual([{ kind: 'task-done', task: 'inspect-mealybugs', houseId: 'long-house' }]);
    await row.getByRole('button', { name: /^Undo/ }).click();
    await page.waitForURL(/said=undo/);
    await row.getByRole('button', { name: /^Done/ }).waitFor();
    expect((await bench.service.keeper.collection('hillside')).houseTasks.size).toBe(0);
  });

  it('keeps the place and what is unfolded, counts a double tap once, and can be undone from the same page', async () => {
    const bench = await start(withTasks());
    const { page } = await bench.open();
    await page.goto(bench.url + LIST);
    const row = page.locator('#t-repot-long-house-1');
    await page.getByText('And 2 more tasks').click();
    await page.locator('#t-pollinate-long-house-1').getByText('Why and how').click();
    await row.scrollIntoViewIfNeeded();
    const before = (await row.boundingBox())?.y ?? 0;
    await row.getByRole('button', { name: 'Done, roots whole: Repot 4 batches' }).evaluate((one: HTMLButtonElement) => {
      one.click();
      one.click();
    });
    await page.locator('#t-repot-long-house-1.is-done').waitFor();
    expect(Math.abs(((await row.boundingBox())?.y ?? 0) - before)).toBeLessThan(2);
    expect(await page.locator('#more-tasks').getAttribute('open')).not.toBeNull();
    expect(await page.locator('#t-pollinate-long-house-1 details').getAttribute('open')).not.toBeNull();
    expect(await done(bench)).toMatchObject([{ kind: 'repotting', rootsCut: false }]);
    await row.getByRole('button', { name: /^Undo/ }).click();
    await row.getByRole('button', { name: /^Done, roots cut/ }).click();
    await page.locator('#t-repot-long-house-1.is-done').waitFor();
    expect(await done(bench)).toMatchObject([{ rootsCut: true }, { rootsCut: false }]);
  });

  it('waits on the phone without a connection, and is sent when there is one', async () => {
    const bench = await start(withTasks());
    const { page, context } = await bench.open();
    await page.goto(bench.url + LIST);
    await context.setOffline(true);
    const row = page.locator('#t-feed-long-house-1');
    await page.getByText('And 2 more tasks').click();
    await row.getByRole('button', { name: /^Done/ }).click();
    await row.getByText('Kept on this phone').waitFor();
    expect(await done(bench)).toEqual([]);
    await context.setOffline(false);
    await page.locator('#t-feed-long-house-1.is-done').waitFor();
    expect(await done(bench)).toEqual([{ kind: 'task-done', task: 'feed', batchIds: ['tray-4'] }]);
  });

  it('is printed with a box to tick for each', async () => {
    const { url, open } = await start(withTasks());
    const { page } = await open({ viewport: { width: 794, height: 1123 }, isMobile: false });
    await page.goto(url + LIST);
    await page.emulateMedia({ media: 'print' });
    const boxes = await page
      .locator('#due .row:visible')
      .evaluateAll((rows) => rows.map((row) => getComputedStyle(row, '::after').width !== 'auto'));
    expect(boxes).toEqual(Array.from({ length: 8 }, () => true));
  });
});
