import { expect, it } from 'vitest';
import { alert, houseNow, outlook } from '../web/fixtures/alerts.js';
import { morning } from '../web/fixtures/scenario.js';
import { cutOff, openAll, smallControls, violations } from './checks.js';
import { type Bench, describeInBrowser, NARROW_PHONE, PHONE } from './harness.js';

const ALERTS = '/sites/hillside/alerts';
const HOUSE = '/sites/hillside/houses/long-house';

function warned({ service }: Bench): void {
  const batchIds = ['tray-6', 'tray-9', 'tray-15'];
  Object.assign(service.state, {
    houseNow,
    outlook,
    alerts: [
      alert(1, { houseId: 'long-house', batchIds }),
      alert(2, { level: 'warning', kind: 'sensor-silent', acknowledged: { at: service.state.now, by: 'Ada' } }),
    ],
    pastAlerts: [alert(9, { state: 'resolved', resolvedAt: service.state.now, outcome: 'The house reached 36.2 °C.' })],
  });
}

describeInBrowser('alerts and houses', (start) => {
  it('are for everybody, and nothing is cut off', async () => {
    const bench = await start([morning()]);
    warned(bench);
    for (const viewport of [PHONE, NARROW_PHONE]) {
      const { page, context } = await bench.open({ viewport });
      for (const path of [ALERTS, HOUSE, '/sites/hillside']) {
        await page.goto(bench.url + path);
        await openAll(page);
        if (path === HOUSE) await page.locator('.chart canvas').waitFor();
        expect(await violations(page), path).toEqual([]);
        expect(await smallControls(page), path).toEqual([]);
        expect(await cutOff(page), `${path} at ${viewport.width}`).toEqual([]);
      }
      await context.close();
    }
  }, 120_000);

  it('the chart draws what the table says, and the table says it without scripts too', async () => {
    const bench = await start([morning()]);
    warned(bench);
    const { page } = await bench.open();
    await page.goto(bench.url + HOUSE);
    await page.locator('.chart canvas').waitFor();
    expect(await page.locator('.chart').isVisible()).toBe(true);
    const bare = await bench.open({ javaScriptEnabled: false });
    await bare.page.goto(bench.url + HOUSE);
    expect(await bare.page.locator('.chart').isVisible()).toBe(false);
    expect(await bare.page.locator('table.days tbody tr').count()).toBe(10);
    expect(await bare.page.locator('table.days').textContent()).toContain('31 °C (29 to 34)');
  });

  it('an alert on the list leads to its place; it is answered in one tap, without scripts too', async () => {
    const bench = await start([morning()]);
    warned(bench);
    for (const javaScriptEnabled of [true, false]) {
      warned(bench);
      const { page, context } = await bench.open({ javaScriptEnabled });
      await page.goto(`${bench.url}/sites/hillside`);
      await page.getByRole('link', { name: 'Heat in the first house, number 1' }).click();
      await page.waitForURL(/alerts#alert-1$/);
      await page.getByRole('button', { name: 'I have seen to it: Heat in the first house, number 1' }).click();
      await page.getByText('Noted that it is seen to.').waitFor();
      expect(await page.locator('#alert-1').textContent()).toContain('Ada has seen to it');
      await context.close();
    }
  });
});
