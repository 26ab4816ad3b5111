import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Page } from 'playwright-core';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const TAGS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

/** Rules of WCAG 2.2 AA as axe-core checks them, and two beyond it: contrast 7:1 and size of targets. */
export async function violations(page: Page): Promise<string[]> {
  // The page refuses inline scripts by its policy; the checker is put in by the test's own channel.
  await page.evaluate(AXE);
  return page.evaluate(async (tags) => {
    const { axe } = globalThis as unknown as {
      axe: {
        run(
          node: unknown,
          options: object,
        ): Promise<{ violations: { id: string; nodes: { html: string; failureSummary: string }[] }[] }>;
      };
    };
    const result = await axe.run(document, {
      runOnly: { type: 'tag', values: tags },
      rules: { 'color-contrast-enhanced': { enabled: true }, 'target-size': { enabled: true } },
    });
    return result.violations.flatMap(({ id, nodes }) =>
      nodes.map((node) => `${id}: ${node.html.slice(0, 160)} ${node.failureSummary}`),
    );
  }, TAGS);
}

/** Whatever a finger must hit, with its size; a box inside its label is hit through the label. */
export const smallControls = (page: Page) =>
  page.evaluate(() => {
    const small: string[] = [];
    for (const control of Array.from(
      document.querySelectorAll<HTMLElement>('a[href], button, summary, input:not([type=hidden]), textarea, select'),
    )) {
      const label = control.closest('label');
      const { width, height } = (label ?? control).getBoundingClientRect();
      if (width === 0 || height === 0 || control.closest('.skip')) continue;
      const least = control.tagName === 'BUTTON' || control.classList.contains('act') || label ? 56 : 44;
      if (width < 44 || height < least)
        small.push(`${Math.round(width)}x${Math.round(height)} ${control.outerHTML.slice(0, 120)}`);
    }
    return small;
  });

/** What sticks out of the screen, and text that its own box cuts off. */
export const cutOff = (page: Page) =>
  page.evaluate(() => {
    const cut: string[] = [];
    const screen = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth > screen)
      cut.push(`page is ${document.documentElement.scrollWidth} px wide on ${screen}`);
    for (const one of Array.from(document.querySelectorAll<HTMLElement>('body *'))) {
      if (one.closest('svg, .skip')) continue;
      const box = one.getBoundingClientRect();
      if (box.width === 0 || box.height === 0) continue;
      if (box.right > screen + 0.5 || box.left < -0.5) cut.push(`outside: ${one.outerHTML.slice(0, 100)}`);
      const scrolls = getComputedStyle(one).overflow !== 'visible' && !(one instanceof HTMLInputElement);
      if (
        scrolls &&
        one.tagName !== 'HTML' &&
        (one.scrollWidth > one.clientWidth + 1 || one.scrollHeight > one.clientHeight + 1)
      )
        cut.push(`clipped: ${one.outerHTML.slice(0, 100)}`);
    }
    return cut;
  });

export const openAll = (page: Page) =>
  page.evaluate(() => {
    for (const details of Array.from(document.querySelectorAll('details'))) details.open = true;
  });
