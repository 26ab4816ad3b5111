import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { instantOnDay } from '../../src/domain/time.js';
import { chanceWords } from '../../src/web/pages/alerts.js';
import { alert, houseNow, outlook } from './fixtures/alerts.js';
import { NOW, site } from './fixtures/scenario.js';
import { type PageService, pageService } from './fixtures/service.js';

let service: PageService;
beforeEach(async () => {
  service = await pageService([], true);
});
afterEach(() => service.close());

const path = `/sites/${site.id}/alerts`;
const get = async (url: string): Promise<string> => (await service.app.inject({ url })).body;
const post = (url: string, payload = '') =>
  service.app.inject({
    method: 'POST',
    url,
    payload,
    headers: { 'content-type': 'application/x-www-form-urlencoded' },
  });

describe('the page of the alerts', () => {
  it('says that nothing is wrong where nothing is', async () => {
    expect(await get(path)).toContain('Nothing is wrong');
  });

  it('tells reason, what to do, what it would buy, the caution, how likely and when', async () => {
    service.state.alerts = [alert(1)];
    const body = await get(path);
    for (const words of [
      '1 open alert',
      'The house is expected to reach 38 °C on Friday.',
      'Hang the cloth and open every vent.',
      'about 4 °C less at noon, 2 to 6',
      'Do not work alone in the heat.',
      'likely, 7 in 10',
    ])
      expect(body).toContain(words);
  });

  it('puts what nobody has seen to first, danger before the rest', async () => {
    service.state.alerts = [
      alert(1, { acknowledged: { at: NOW, by: 'Ada' } }),
      alert(2, { level: 'warning' }),
      alert(3),
    ];
    const body = await get(path);
    const places = [3, 2, 1].map((id) => body.indexOf(`id="alert-${id}"`));
    expect(places).toEqual([...places].sort((a, b) => a - b));
  });

  it('shows how earlier ones turned out, and where older ones are', async () => {
    service.state.pastAlerts = Array.from({ length: 23 }, (_, index) =>
      alert(50 - index, { state: 'resolved', resolvedAt: NOW - index, outcome: 'The house reached 36.2 °C.' }),
    );
    const body = await get(path);
    expect(body).toContain('The house reached 36.2 °C.');
    const older = /alerts\?(before=\d+&amp;id=\d+)/.exec(body)?.[1]?.replace('&amp;', '&');
    expect(await get(`${path}?${older}`)).toContain('number 30');
  });

  it('takes answers of staff, twice as once, and of nobody else', async () => {
    service.state.alerts = [alert(1)];
    for (const _ of [1, 2]) expect((await post(`${path}/1/acknowledge`)).statusCode).toBe(303);
    expect(await get(path)).toContain('Ada has seen to it');
    expect((await post(`${path}/1/snooze`, 'until=morning')).statusCode).toBe(303);
    expect(await get(path)).toContain('unless it gets worse');
    expect((await post(`${path}/1/snooze`, 'until=none')).statusCode).toBe(303);
    expect(service.state.alerts[0]).not.toHaveProperty('snoozedUntil');

    service.state.reader = { name: 'Ben', mayWrite: false, isOwner: false };
    expect((await post(`${path}/1/acknowledge`)).statusCode).toBe(403);
    expect(await get(path)).not.toContain('I have seen to it');
  });

  it('quiet until morning, pressed at night, is until the morning of that night', async () => {
    service.state.alerts = [alert(1)];
    const until = async (clock: string) => {
      service.state.now = instantOnDay(site.zone, '2026-06-10', clock);
      await post(`${path}/1/snooze`, 'until=morning');
      return service.state.alerts[0]?.snoozedUntil;
    };
    expect(await until('01:00')).toBe(instantOnDay(site.zone, '2026-06-10', '05:00'));
    expect(await until('22:00')).toBe(instantOnDay(site.zone, '2026-06-11', '05:00'));
  });

  it('refuses an alert of another site, none at all, and a time nobody offers', async () => {
    service.state.alerts = [alert(1, { siteId: 'elsewhere' }), alert(2)];
    expect((await post(`${path}/1/acknowledge`)).statusCode).toBe(404);
    expect((await post(`${path}/x/acknowledge`)).statusCode).toBe(404);
    expect((await post(`${path}/2/snooze`, 'until=for-ever')).statusCode).toBe(422);
  });

  it.each([
    [0.95, 'very likely, more than 9 in 10'],
    [0.6, 'likely, 6 in 10'],
    [0.5, 'as likely as not, 5 in 10'],
    [0.03, 'possible, less than 1 in 10'],
  ])('a chance of %f reads %s', (probability, words) => expect(chanceWords(probability)).toBe(words));
});

describe('the page of a house', () => {
  const housePath = `/sites/${site.id}/houses/${site.houses[0]?.id}`;

  it('tells what is now, the week, and the coming days with their range', async () => {
    Object.assign(service.state, { houseNow, outlook, alerts: [alert(1)] });
    const body = await get(housePath);
    for (const words of [
      '21.4 °C',
      '29 °C (27 to 32)',
      'forecast of 05:10 through the model of this house',
      'Full sun makes this house about 9 °C warmer than outside.',
      'out by 1.2 °C',
      'The range held on 81 of 100 days',
      'Heat in the first house, number 1',
    ])
      expect(body.replace(/<!-- -->/g, '')).toContain(words);
    // A day without measured light says so.
    expect(body).toMatch(/Light">not known</);
    // The night that has just ended was measured.
    expect(body).toContain('>10.5 °C<');
  });

  it('says so where nothing is known', async () => {
    const body = await get(housePath);
    expect(body).toContain('No sensor of this house has been heard.');
    expect(body).toContain('The days to come are not told');
  });

  it('there is none of a house that is not', async () => {
    expect((await service.app.inject({ url: `/sites/${site.id}/houses/nowhere` })).statusCode).toBe(404);
  });
});
