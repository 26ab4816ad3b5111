import { expect, it } from 'vitest';
import { morning } from '../web/fixtures/scenario.js';
import { cutOff, smallControls, violations } from './checks.js';
import { type Bench, describeInBrowser } from './harness.js';

const LIMITS = '/sites/hillside/houses/long-house/limits';
const inForce = async ({ service }: Bench) => (await service.storage.settings.history('hillside', 'long-house'))[0];

describeInBrowser('the limits of a house', (start) => {
  it('are found, changed and taken back without scripts', async () => {
    const bench = await start([morning(13)]);
    const { page } = await bench.open({ javaScriptEnabled: false });
    await page.goto(`${bench.url}/sites/hillside`);
    await page.locator('#house-long-house').getByRole('link', { name: 'Limits of this house' }).click();
    await page.getByText('Drinks', { exact: true }).click();
    await page.getByRole('link', { name: 'Dry days before a drink' }).click();
    await page.getByText('Show other plants').click();
    await page.getByLabel('Species group').selectOption({ label: 'Conophytum (in this house)' });
    await page.getByLabel('Phase').selectOption('growing');
    await page.getByRole('button', { name: 'Show for these plants' }).click();
    await page.getByRole('heading', { name: 'Change it for Conophytum, growing' }).waitFor();
    await page.getByLabel(/^New value, days/).fill('12');
    await page.getByLabel('Why, for whoever reads it later').fill('Our pots dry slowly.');
    await page.getByRole('button', { name: 'See what it would do' }).first().click();
    await page.getByText('2 of 14 batches would be told something else.').waitFor();
    expect(await inForce(bench)).toBeUndefined();
    await page.getByRole('button', { name: 'Set it' }).click();
    expect(await page.getByRole('status').allInnerTexts()).toContain('It is set. The list is made again with it.');
    expect(await inForce(bench)).toMatchObject({
      revision: 1,
      by: 'Ada',
      why: 'Our pots dry slowly.',
      limits: [{ name: 'drink-gap', group: 'conophytum', phase: 'growing', value: 12 }],
    });
    // What is not as usual is open and marked.
    expect(await page.locator('.is-own').textContent()).toMatch(/Conophytum, growing: 12 days/);
    await page.getByRole('link', { name: 'What was set before, and going back' }).click();
    await page.getByRole('button', { name: 'Go back one step' }).click();
    expect(await inForce(bench)).toMatchObject({ revision: 2, limits: [] });
  });

  it('keep WCAG 2.2 AA, contrast 7:1 and sizes for wet fingers on the way to a change and back', async () => {
    const { url, open } = await start([morning(13)]);
    const { page } = await open();
    const good = async () => {
      expect(await violations(page)).toEqual([]);
      expect(await smallControls(page)).toEqual([]);
      expect(await cutOff(page)).toEqual([]);
    };
    const tryLightDays = async (days: string) => {
      await page.goto(`${url}${LIMITS}/repot-light-days?group=conophytum`);
      await page.getByLabel(/^New value, days/).fill(days);
      await page.getByLabel('Why, for whoever reads it later').fill('Roots heal slowly here.');
      await page.getByRole('button', { name: 'See what it would do' }).first().click();
    };
    await tryLightDays('6');
    await page.getByRole('heading', { name: 'This cannot be set' }).waitFor();
    await good();
    await tryLightDays('20');
    await page.getByRole('heading', { name: 'Nothing is changed yet' }).waitFor();
    await good();
    await page.getByRole('button', { name: 'Set it' }).click();
    await page.getByText('It is set. The list is made again with it.').waitFor();
    await good();
    await page.goto(`${url}${LIMITS}/repot-light-days?group=conophytum`);
    await good();
    await page.goto(`${url}/sites/hillside/houses/long-house/limit-history`);
    await page.getByRole('button', { name: 'Go back one step' }).click();
    await page.getByText('What held before holds again.').waitFor();
    await page.goto(`${url}/sites/hillside/houses/long-house/limit-history`);
    await good();
  }, 90_000);

  it('print whole, folded or not, without forms', async () => {
    const { url, open } = await start([morning(13)]);
    const { page } = await open({ viewport: { width: 794, height: 1123 }, isMobile: false });
    await page.goto(url + LIMITS);
    await page.emulateMedia({ media: 'print' });
    const shown = await page.evaluate(() => ({
      limits: Array.from(document.querySelectorAll('.limit')).filter((one) => one.getBoundingClientRect().height > 0)
        .length,
      all: document.querySelectorAll('.limit').length,
      forms: Array.from(document.querySelectorAll('form')).filter((one) => one.getBoundingClientRect().height > 0)
        .length,
    }));
    expect(shown).toEqual({ limits: shown.all, all: shown.all, forms: 0 });
    expect(shown.all).toBeGreaterThan(60);
  });
});
