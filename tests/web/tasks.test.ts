import { afterEach, describe, expect, it } from 'vitest';
import type { JournalEventInput } from '../../src/domain/journal.js';
import { lastDone } from '../../src/web/tasks-view.js';
import { taskFacts, taskHeadline } from '../../src/web/words.js';
import { DAY, morning, NOW, site } from './fixtures/scenario.js';
import { type PageService, pageService } from './fixtures/service.js';
import { dueList } from './fixtures/tasks.js';

const OURS = { 'sec-fetch-site': 'same-origin', 'content-type': 'application/x-www-form-urlencoded' };
const KEY = '0123456789abcdef';
const tasks = dueList();

let service: PageService;
const begin = async () => {
  service = await pageService([morning(14, { tasks })]);
};
afterEach(() => service?.close());

const post = (task: string, more: Record<string, string> = {}, headers: Record<string, string> = OURS) =>
  service.app.inject({
    method: 'POST',
    url: '/sites/hillside/tasks',
    payload: new URLSearchParams({ key: KEY, day: DAY, revision: '2', task, ...more }).toString(),
    headers,
  });
const events = async () =>
  (
    await service.storage.journal.list({ siteId: 'hillside', kinds: ['task-done', 'repotting', 'undo'], limit: 50 })
  ).map(({ event }) => event);
const page = async (path = '/sites/hillside') => (await service.app.inject(path)).body;
const enter = (event: JournalEventInput) => service.keeper.record('hillside', [event], { by: 'Ada' });

describe('the second list', () => {
  it('stands under the watering, the first eight in sight and the rest counted', async () => {
    await begin();
    const body = await page();
    const [list = '', due = ''] = body.split('id="due"');
    expect(list).toContain('id="house-dry-house"');
    const [shown = '', folded = ''] = due.split('id="more-tasks"');
    expect(shown.match(/id="t-/g)).toHaveLength(8);
    expect(folded.match(/id="t-/g)).toHaveLength(2);
    expect(folded).toContain('And 2 more tasks');
    expect(due).toContain('702 degree-days above 8.5 °C since the last look on 3 March');
    expect(due).toContain('label, local law and licensed practice');
    expect(due).toContain('<b>Bench 2:</b> Tray 7, ');
    expect(due).toContain('href="/sites/hillside/houses/long-house/limits#s-tasks"');
  });

  it('is not there when nothing is due, and has no buttons for who may only read', async () => {
    service = await pageService([morning(14)]);
    expect(await page()).not.toContain('Also due');
    await service.close();
    await begin();
    service.state.reader = { ...service.state.reader, name: 'Guest', mayWrite: false };
    const due = (await page()).split('id="due"')[1];
    expect(due).toContain('Also due');
    expect(due).not.toContain('name="task"');
    expect((await post('feed-long-house-1')).statusCode).toBe(403);
  });

  it('says kind, place, hours and end in few words', () => {
    const words = new Map(tasks.map((task) => [task.id, [taskHeadline(task), ...taskFacts(site.zone, DAY, task)]]));
    expect(words.get('harvest-capsules-long-house-1')).toEqual([
      'Take ripe capsules of 1 batch',
      'Long house: Bench 2',
      'today',
    ]);
    expect(words.get('pollinate-long-house-1')).toEqual([
      'Pollinate 2 batches',
      'Long house: Bench 1',
      '14:04 to 19:04',
      'until Tue 27 Oct',
    ]);
    expect(words.get('inspect-mealybugs-long-house-1')).toEqual(['Look for mealybugs', 'Long house']);
    expect(words.get('sow-site-1')).toEqual(['Sow: Argyroderma, Conophytum', 'today']);
    const wide = {
      ...tasks[2],
      benches: Array.from({ length: 4 }, (_, n) => ({ ...tasks[2]?.benches[0], benchName: `B${n}` })),
    };
    expect(taskFacts(site.zone, DAY, wide as never)[0]).toBe('Long house: 4 benches');
  });
});

describe('a task that is done', () => {
  it.each<[string, JournalEventInput]>([
    ['feed-long-house-1', { kind: 'task-done', task: 'feed', batchIds: ['tray-4'] }],
    ['inspect-mealybugs-long-house-1', { kind: 'task-done', task: 'inspect-mealybugs', houseId: 'long-house' }],
    ['sow-site-1', { kind: 'task-done', task: 'sow', batchIds: ['tray-1', 'tray-3'] }],
    [
      'repot-long-house-1/cut',
      { kind: 'repotting', batchIds: ['tray-7', 'tray-8', 'tray-11', 'tray-12'], rootsCut: true },
    ],
    [
      'repot-long-house-1/whole',
      { kind: 'repotting', batchIds: ['tray-7', 'tray-8', 'tray-11', 'tray-12'], rootsCut: false },
    ],
  ])('%s is one entry, however often the form arrives', async (value, event) => {
    await begin();
    const first = await post(value);
    expect([first.statusCode, first.headers.location]).toEqual([303, `/sites/hillside#t-${value.split('/')[0]}`]);
    expect((await post(value, { ago: '4000' })).statusCode).toBe(303);
    expect(await events()).toEqual([event]);
  });

  it('is shown as done at once, with who, and taken back at once', async () => {
    await begin();
    await post('feed-long-house-1');
    const done = (await page()).split('id="t-feed-long-house-1"')[1]?.split('</li>')[0];
    expect(done).toContain('Fed at 07:30 by Ada, Long house');
    const entry = /name="entry" value="(\d+)"/.exec(done ?? '')?.[1] ?? '';
    await service.app.inject({
      method: 'POST',
      url: '/sites/hillside/undo',
      payload: new URLSearchParams({ key: KEY, entry }).toString(),
      headers: OURS,
    });
    expect((await page()).split('id="t-feed-long-house-1"')[1]?.split('</li>')[0]).toContain(
      'value="feed-long-house-1"',
    );
  });

  it('with a script the browser gets the second list alone', async () => {
    await begin();
    const before = (await service.app.inject('/sites/hillside/pulse')).json().digest;
    const answer = (await post('feed-long-house-1', {}, { ...OURS, 'x-leafturn-parts': '1' })).json();
    expect(Object.keys(answer.parts).sort()).toEqual(['due', 'jumps', 'look', 'progress']);
    expect(answer.parts.due).toContain('Fed at 07:30');
    expect(answer.back).toBe('/sites/hillside#t-feed-long-house-1');
    expect(answer.digest).not.toBe(before);
  });

  it('counts only when every batch of the line was answered, by one entry or several', async () => {
    await begin();
    await enter({ kind: 'task-done', task: 'pollinate', batchIds: ['tray-1'] });
    const row = async () => (await page()).split('id="t-pollinate-long-house-1"')[1]?.split('</li>')[0] ?? '';
    expect(await row()).toContain('value="pollinate-long-house-1"');
    await enter({ kind: 'task-done', task: 'pollinate', batchIds: ['tray-2'] });
    expect(await row()).toContain('Pollinated at 07:30');
    // Two entries: which to take back is not for one button to say.
    expect(await row()).not.toContain('Undo');
  });

  it('leaves out batches that ended since, and says so when none is left', async () => {
    await begin();
    await enter({ kind: 'batch-ended', batchId: 'tray-1', reason: 'sold' });
    await post('pollinate-long-house-1');
    expect(await events()).toEqual([{ kind: 'task-done', task: 'pollinate', batchIds: ['tray-2'] }]);
    await enter({ kind: 'batch-ended', batchId: 'tray-4', reason: 'sold' });
    const answer = await post('feed-long-house-1');
    expect(answer.statusCode).toBe(409);
    expect(answer.body).toContain('The batches of this task have ended.');
  });

  it.each([
    ['a button of nobody', 'feed long house', {}, 422, 'a button of the list; open the list again'],
    ['a task of no list', 'feed-elsewhere-1', {}, 409, 'This task is on no list that is kept.'],
    ['a list that is not kept', 'feed-long-house-1', { revision: '1' }, 409, 'This task is on no list that is kept.'],
    ['a day that is none', 'feed-long-house-1', { day: 'today' }, 422, 'a date such as'],
  ])('is refused with a reason: %s', async (_what, value, more, status, told) => {
    await begin();
    const answer = await post(value, more as Record<string, string>);
    expect(answer.statusCode).toBe(status);
    expect(answer.body).toContain(told);
    expect(await events()).toEqual([]);
  });
});

describe('the page of a batch', () => {
  it('says when each task was done last', async () => {
    await begin();
    await service.keeper.record('hillside', [{ kind: 'task-done', task: 'feed', batchIds: ['tray-1'] }], {
      by: 'Ada',
      happenedAt: NOW - 40 * 86_400_000,
    });
    await enter({ kind: 'task-done', task: 'feed', batchIds: ['tray-1'] });
    await enter({ kind: 'task-done', task: 'inspect-mites', houseId: 'long-house' });
    const body = await page('/sites/hillside/batches/tray-1');
    expect(body).toContain('<dt>Fed</dt><dd>Sunday 25 October 2026, Ada</dd>');
    expect(body).toContain('<dt>Looked for mites</dt>');
    expect(body).not.toContain('15 September 2026, Ada');
  });

  it('in the order of the kinds, the latest of each', () => {
    const one = (task: 'feed' | 'repot', at: number) => ({ task, at, by: 'Ada', entryId: at });
    expect(lastDone([one('feed', 3), one('repot', 1), one('feed', 2)]).map(({ task, at }) => [task, at])).toEqual([
      ['repot', 1],
      ['feed', 3],
    ]);
  });
});
