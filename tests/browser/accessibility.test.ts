import { expect, it } from 'vitest';
import { advice, morning } from '../web/fixtures/scenario.js';
import { dueList } from '../web/fixtures/tasks.js';
import { cutOff, openAll, smallControls, violations } from './checks.js';
import { describeInBrowser, NARROW_PHONE, PHONE } from './harness.js';

const PAGES = {
  today: '/sites/hillside',
  batch: '/sites/hillside/batches/tray-6',
  'batch with the longest name': '/sites/hillside/batches/tray-15',
  bench: '/sites/hillside/benches/bench-2',
  'note on a batch': '/sites/hillside/note?batch=tray-9',
  'note on a bench': '/sites/hillside/note?bench=bench-2',
  'note without a batch': '/sites/hillside/note',
  search: '/sites/hillside/batches?q=conophytum',
  limits: '/sites/hillside/houses/long-house/limits',
  'one limit': '/sites/hillside/houses/long-house/limits/drink-gap?group=conophytum&phase=growing',
  'a limit of words': '/sites/hillside/houses/long-house/limits/hot-spell-cap',
  'a limit of a season': '/sites/hillside/houses/long-house/limits/drink-season?group=conophytum',
  'a limit of alerts': '/sites/hillside/houses/long-house/limits/alert/frostBelowC',
  'limits set before': '/sites/hillside/houses/long-house/limit-history',
  sites: '/sites',
  'no list yet': '/sites/southfield',
  'a new batch': '/sites/hillside/new-batch',
  'no such batch': '/sites/hillside/batches/nowhere',
};

describeInBrowser('pages for everybody', (start) => {
  it.each(Object.entries(PAGES))(
    'keep WCAG 2.2 AA, contrast 7:1 and sizes for wet fingers: %s',
    async (_name, path) => {
      const { url, open } = await start([morning(13, { revision: 1, houses: [] }), morning(13, { tasks: dueList() })]);
      const { page } = await open();
      await page.goto(url + path);
      expect(await violations(page)).toEqual([]);
      expect(await smallControls(page)).toEqual([]);
      await openAll(page);
      expect(await violations(page)).toEqual([]);
      expect(await smallControls(page)).toEqual([]);
    },
    90_000,
  );

  it('cut nothing off at 390 and 360 px, at the usual size and at 200 % text', async () => {
    const { url, open } = await start([morning(14, { tasks: dueList() })]);
    for (const viewport of [PHONE, NARROW_PHONE]) {
      const { page, context } = await open({ viewport });
      for (const [name, path] of Object.entries(PAGES)) {
        await page.goto(url + path);
        await openAll(page);
        expect(await cutOff(page), `${name} at ${viewport.width}`).toEqual([]);
        await page.evaluate(() => document.documentElement.style.setProperty('font-size', '200%'));
        expect(await cutOff(page), `${name} at ${viewport.width}, 200 %`).toEqual([]);
      }
      await context.close();
    }
  }, 120_000);

  it('say an old list, silent sensors and a lost broker so that nobody overlooks them', async () => {
    const { service, url, open } = await start();
    service.state.today = '2026-10-26';
    service.state.status = {
      broker: { connected: false, since: service.state.now - 5 * 3_600_000 },
      lastReadingAt: service.state.now - 6 * 3_600_000,
      warnings: ['The configuration was changed but has a mistake; the one before is in use.'],
    };
    const { page } = await open();
    await page.goto(`${url}/sites/hillside`);
    const told = await page.locator('.today > .stale, .fresh .stale').allInnerTexts();
    expect(told).toHaveLength(4);
    expect(told[0]).toContain('This is the list of Sunday 25 October 2026. There is no list for today yet.');
    // The clocks went back at 03:00: six hours and five hours before 07:30 both read 02:30.
    expect(told[1]).toContain('No reading since 02:30, 6 hours ago.');
    expect(told[2]).toContain(
      'The sensors have not reached the service since 02:30, 5 hours ago. The list below stays as it is.',
    );
    expect(await violations(page)).toEqual([]);
    expect(await cutOff(page)).toEqual([]);
  });

  it('hold names without a place to break', async () => {
    const round = morning(12);
    const long = 'Mesembryanthemaceenversuchsaussaatschale'.repeat(3);
    const one = advice('full', { batchId: 'long', name: long.slice(0, 120), benchName: long.slice(0, 120) });
    const house = round.houses[2];
    const line = house?.lines[0];
    if (!house || !line) throw new Error('the scenario has a seedling frame with a line');
    const houses = [{ ...house, name: long.slice(0, 80), lines: [{ ...line, batches: [one] }] }];
    const { url, open } = await start([{ ...round, houses, look: [] }]);
    const { page } = await open({ viewport: NARROW_PHONE });
    await page.goto(`${url}/sites/hillside`);
    expect(await cutOff(page)).toEqual([]);
  });
});
