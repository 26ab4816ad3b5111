import PdfParser from 'pdf2json';
import { expect, it } from 'vitest';
import { morning } from '../web/fixtures/scenario.js';
import { describeInBrowser } from './harness.js';

/** Text of each page of a PDF, as pdf2json reads it. */
function pageTexts(pdf: Buffer): Promise<string[]> {
  return new Promise((resolve, reject) => {
    const parser = new PdfParser();
    parser.on('pdfParser_dataError', reject);
    parser.on('pdfParser_dataReady', ({ Pages }) =>
      resolve(
        Pages.map((page) =>
          page.Texts.map((text) => text.R.map((run) => decodeURIComponent(run.T)).join(''))
            .join('')
            .replace(/\s+/g, ' '),
        ),
      ),
    );
    // Links are told as form elements it does not know: nothing of ours.
    parser.parseBuffer(pdf, -1);
  });
}

describeInBrowser('the printed list', (start) => {
  it('says on every sheet which house, which day and which list it is', async () => {
    const { url, open } = await start([morning(40)]);
    const { page } = await open({ viewport: { width: 1000, height: 800 }, isMobile: false });
    await page.goto(`${url}/sites/hillside`);
    const texts = await pageTexts(await page.pdf({ format: 'A4' }));
    expect(texts.length).toBeGreaterThan(4);
    for (const text of texts) expect(text).toContain('Hillside · Sunday 25 October 2026 · list 2');
    const ofLongHouse = texts.filter((text) => text.startsWith('Long house'));
    expect(ofLongHouse.length).toBeGreaterThan(1);
    expect(texts.join(' ')).not.toMatch(/Done as advised|hours ago|Find batch/);
  });

  it('has a box to tick for whatever is to be done, and cuts no row in two', async () => {
    const { url, open } = await start([morning(40)]);
    const { page } = await open({ viewport: { width: 794, height: 1123 }, isMobile: false });
    await page.goto(`${url}/sites/hillside`);
    await page.emulateMedia({ media: 'print' });
    const rows = await page.evaluate(() =>
      Array.from(document.querySelectorAll('.row, .run'), (row) => ({
        kind: row.className,
        shown: row.getBoundingClientRect().height > 0,
        box: getComputedStyle(row, '::after').width !== 'auto' && getComputedStyle(row, '::after').content !== 'none',
        breaks: getComputedStyle(row).breakInside,
      })),
    );
    const shown = rows.filter((row) => row.shown);
    expect(shown.length).toBeGreaterThan(10);
    expect(shown.filter((row) => row.box !== !row.kind.includes('k-wait'))).toEqual([]);
    expect(shown.every((row) => row.breaks === 'avoid')).toBe(true);
  });
});
