import type { Page } from 'playwright-core';
import { expect, it } from 'vitest';
import type { Round } from '../../src/domain/verdict.js';
import { DAY, morning } from '../web/fixtures/scenario.js';
import { type Bench, describeInBrowser } from './harness.js';

const LIST = '/sites/hillside';
const done = (page: Page, label: string) => page.getByRole('button', { name: `Done as advised: ${label}` });

/** What the journal holds about watering, in the words of the domain. */
async function waterings({ service }: Bench) {
  const entries = await service.storage.journal.list({ siteId: 'hillside', kinds: ['watering'], limit: 100 });
  return entries.map((entry) => entry.event);
}

/** The same morning with another verdict for one batch. */
function withVerdict(round: Round, batchId: string, from: string): Round {
  const all = round.houses.flatMap((house) => house.lines.flatMap((line) => line.batches));
  const verdict = all.find((one) => one.batchId === from)?.verdict;
  if (!verdict) throw new Error(`no batch ${from}`);
  return {
    ...round,
    houses: round.houses.map((house) => ({
      ...house,
      lines: house.lines.map((line) => ({
        ...line,
        batches: line.batches.map((one) => (one.batchId === batchId ? { ...one, verdict } : one)),
      })),
    })),
  };
}

describeInBrowser('the morning round', (start) => {
  it('works without scripts: note a drink, see it, take it back', async () => {
    const bench = await start();
    const { page } = await bench.open({ javaScriptEnabled: false });
    await page.goto(bench.url + LIST);
    await done(page, 'Tray 6,').first().click();
    await page.waitForURL(/#b-tray-6$/);
    const row = page.locator('#b-tray-6');
    expect(await row.textContent()).toContain('Done as advised at 07:30: full drink, 35 mL a pot');
    expect(await waterings(bench)).toEqual([
      { kind: 'watering', batchIds: ['tray-6'], amount: 'full', mlPerPot: 35, answer: 'as-advised', day: DAY },
    ]);
    await row.getByRole('button', { name: /^Undo/ }).click();
    await page.waitForURL(/said=undo/);
    expect(await page.getByRole('status').allInnerTexts()).toContain('Taken back.');
    await done(page, 'Tray 6,').waitFor();
    expect((await bench.service.keeper.collection('hillside')).batches.get('tray-6')?.waterings).toEqual([]);
  });

  it('works without scripts: a whole line, another amount, an exact amount, a note', async () => {
    const bench = await start();
    const { page } = await bench.open({ javaScriptEnabled: false });
    await page.goto(bench.url + LIST);
    await page.getByRole('button', { name: 'Line ran as advised' }).click();
    await page.waitForURL(/#l-line-1$/);
    await page.getByRole('button', { name: 'Gave a full drink: Tray 7,' }).click();
    await page.waitForURL(/#b-tray-7$/);
    await page.goto(`${bench.url}${LIST}/batches/tray-10`);
    await page.getByText('Note an exact amount').click();
    await page.getByLabel('Millilitres a pot').fill('22.5');
    await page.getByRole('button', { name: 'It was a light drink' }).click();
    expect(await page.locator('main').textContent()).toContain('Another amount at 07:30: light drink, 23 mL a pot');
    const [exact, other, line] = await waterings(bench);
    expect(line).toMatchObject({
      lineId: 'line-1',
      batchIds: ['tray-1', 'tray-2', 'tray-3', 'tray-4', 'tray-5'],
      amount: 'full',
      answer: 'as-advised',
    });
    expect(other).toMatchObject({ batchIds: ['tray-7'], amount: 'full', answer: 'another-amount' });
    expect(other).not.toHaveProperty('mlPerPot');
    expect(exact).toMatchObject({ batchIds: ['tray-10'], amount: 'light', mlPerPot: 22.5 });

    await page.goto(bench.url + LIST);
    await page.locator('#look').getByRole('link', { name: 'Note what you saw: Tray 9,' }).click();
    await page.getByRole('group', { name: 'New leaf pair' }).getByText('Soft', { exact: true }).click();
    await page.getByText('Tips closed').first().click();
    await page.getByRole('button', { name: 'Keep this note' }).click();
    await page.waitForURL(/said=note/);
    expect(await page.locator('#look').textContent()).toContain('Looked at. The next list takes it up.');
    const batch = (await bench.service.keeper.collection('hillside')).batches.get('tray-9');
    expect(batch?.newPair?.value).toBe('soft');
    expect([...(batch?.signs.keys() ?? [])]).toEqual(['closed-tips']);
    expect(batch?.firmness).toBeUndefined();
  });

  it('keeps the place when a drink is noted, and counts a double tap once', async () => {
    const bench = await start();
    const { page } = await bench.open();
    await page.goto(bench.url + LIST);
    await page.evaluate(() => document.getElementById('dry-bench-3')?.setAttribute('open', ''));
    const button = done(page, 'Tray 11,');
    await button.scrollIntoViewIfNeeded();
    const before = (await page.locator('#b-tray-11').boundingBox())?.y ?? 0;
    // Two presses before anything can come back, as a wet finger does.
    await button.evaluate((one: HTMLButtonElement) => {
      one.click();
      one.click();
    });
    await page.locator('#b-tray-11.is-done').waitFor();
    expect(Math.abs(((await page.locator('#b-tray-11').boundingBox())?.y ?? 0) - before)).toBeLessThan(2);
    expect(await page.evaluate(() => document.activeElement?.id)).toBe('b-tray-11');
    expect(await page.locator('#dry-bench-3').getAttribute('open')).not.toBeNull();
    expect(await page.locator('#progress').textContent()).toContain('1 of 9 done');
    expect(await waterings(bench)).toHaveLength(1);

    await page.getByLabel('Hide what is done').check();
    expect(await page.locator('#b-tray-11').isVisible()).toBe(false);
  });

  it('can be undone and noted again from the same open page', async () => {
    const bench = await start();
    const { page } = await bench.open();
    await page.goto(bench.url + LIST);
    for (let time = 0; time < 2; time++) {
      await done(page, 'Tray 6,').click();
      await page.locator('#b-tray-6.is-done').getByRole('button', { name: /^Undo/ }).click();
      await page.locator('#b-tray-6.k-full').waitFor();
    }
    expect(await waterings(bench)).toHaveLength(2);
    expect((await bench.service.keeper.collection('hillside')).batches.get('tray-6')?.waterings).toEqual([]);
  });

  it('can be done by keyboard alone', async () => {
    const bench = await start();
    const { page } = await bench.open({ isMobile: false, hasTouch: false });
    await page.goto(bench.url + LIST);
    await page.keyboard.press('Tab');
    expect(await page.evaluate(() => document.activeElement?.textContent)).toBe('Skip to the page');
    const reach = async (name: string) => {
      for (let presses = 0; presses < 200; presses++) {
        const label = await page.evaluate(() => {
          const one = document.activeElement;
          return one?.getAttribute('aria-label') ?? one?.textContent ?? '';
        });
        if (label.startsWith(name)) return;
        await page.keyboard.press('Tab');
      }
      throw new Error(`the Tab key does not reach ${name}`);
    };
    await reach('Done as advised: Tray 6,');
    const ring = await page.evaluate(() => getComputedStyle(document.activeElement as Element).outlineWidth);
    expect(Number.parseFloat(ring)).toBeGreaterThanOrEqual(3);
    await page.keyboard.press('Enter');
    await page.locator('#b-tray-6.is-done').waitFor();
    await reach('Undo: Tray 6,');
    await reach('Why, or note');
    await page.keyboard.press('Enter');
    await page.locator('#b-tray-7 details[open]').waitFor();
  });

  it('says what has changed since it was read, until that was read', async () => {
    const older = morning(14, { revision: 1 });
    const bench = await start([older]);
    const { page } = await bench.open();
    await page.goto(bench.url + LIST);
    expect(await page.locator('.changes').count()).toBe(0);

    bench.service.state.rounds.push({ ...withVerdict(older, 'tray-6', 'tray-8'), revision: 2 });
    await page.evaluate(() => dispatchEvent(new Event('focus')));
    await page.getByRole('button', { name: 'Show the new list' }).click();
    await page.locator('.changes').waitFor();
    expect(await page.locator('.changes').textContent()).toContain(
      'Wait until Tue 27 Oct, was: Full drink, 35 mL a pot',
    );
    expect(await page.locator('#b-tray-6').textContent()).toContain('Changed, was: Full drink, 35 mL a pot');
    await page.getByRole('button', { name: 'I have read this' }).click();
    await page.locator('.changes').waitFor({ state: 'detached' });
  });

  it('tells what is wrong with a note where it was made, and keeps what was ticked', async () => {
    const bench = await start();
    const { page } = await bench.open();
    await page.goto(`${bench.url}${LIST}/note?batch=tray-9`);
    await page.getByText('Growing', { exact: true }).click();
    await page.getByText('Old pair splits').click();
    await page.getByRole('button', { name: 'Keep this note' }).click();
    await page.getByText('A stage of the leaf pair goes with "replacing its leaf pair" only.').waitFor();
    expect(await page.getByLabel('Growing', { exact: true }).isChecked()).toBe(true);
    await page.getByText('Replacing its leaf pair', { exact: true }).click();
    await page.getByRole('button', { name: 'Keep this note' }).click();
    await page.getByText('Your note is kept.').waitFor();
  });

  it('lists batches by a part of their name or bench', async () => {
    const bench = await start();
    const { page } = await bench.open({ javaScriptEnabled: false });
    await page.goto(bench.url + LIST);
    await page.getByRole('link', { name: 'Find batch' }).click();
    await page.getByLabel('Name, label, group or bench').fill('quarz');
    await page.getByRole('button', { name: 'Find' }).click();
    await page.getByRole('link', { name: /Zwergform vom Quarzfeld/ }).click();
    expect(await page.locator('main').textContent()).toContain('Light drink, 7.5 mL a pot');
  });
});
