import { expect, it } from 'vitest';
import { cutOff, openAll, smallControls, violations } from './checks.js';
import { describeInBrowser, NARROW_PHONE } from './harness.js';

describeInBrowser('batches that come and go', (start) => {
  it('are begun on a new bench, moved, and taken back, without scripts too', async () => {
    const bench = await start();
    for (const javaScriptEnabled of [false, true]) {
      const { page, context } = await bench.open({ javaScriptEnabled });
      const name = javaScriptEnabled ? 'With scripts' : 'Without scripts';
      await page.goto(`${bench.url}/sites/hillside/batches`);
      await page.getByRole('link', { name: 'Add a new batch' }).click();
      await page.getByLabel('Name, as on the label').fill(name);
      await page.getByLabel('How many pots').fill('6');
      await page.getByText('It stands on a new bench').click();
      await page.getByLabel('Name of the new bench').fill(`Sill ${name}`);
      await page.getByRole('button', { name: 'Keep this batch' }).click();
      await page.getByRole('heading', { name, level: 1 }).waitFor();
      await page.getByText('It was moved').click();
      await page.getByLabel('To which bench').first().selectOption({ label: 'Bench 2' });
      await page.getByRole('button', { name: 'It stands there now' }).click();
      await page.getByText('It is noted.').waitFor();
      const state = async () =>
        [...(await bench.service.keeper.collection('hillside')).batches.values()].find((batch) => batch.name === name);
      expect(await state()).toMatchObject({ potCount: 6, benchId: 'bench-2' });
      await page.getByRole('button', { name: /^Undo: Moved/ }).click();
      await page.locator('del').waitFor();
      expect((await state())?.benchId).toMatch(/^sill-/);
      await context.close();
    }
  });

  it('what is filled in wrongly is told beside what was filled in', async () => {
    const bench = await start();
    const { page } = await bench.open();
    await page.goto(`${bench.url}/sites/hillside/new-batch`);
    await page.getByLabel('Name, as on the label').fill('Tray 50');
    await page.getByLabel('How many pots').fill('6');
    await page.getByRole('button', { name: 'Keep this batch' }).click();
    await page.getByText('Nothing you filled in is lost.').waitFor();
    expect(await page.getByLabel('Name, as on the label').inputValue()).toBe('Tray 50');
    expect(await violations(page)).toEqual([]);
  });

  it('the forms of a batch are for everybody, and nothing is cut off', async () => {
    const bench = await start();
    const { page } = await bench.open({ viewport: NARROW_PHONE });
    await page.goto(`${bench.url}/sites/hillside/batches/tray-6`);
    await openAll(page);
    expect(await violations(page)).toEqual([]);
    expect(await smallControls(page)).toEqual([]);
    expect(await cutOff(page)).toEqual([]);
  });
});
