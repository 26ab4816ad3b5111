import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { valuesWords } from '../../src/web/limit-words.js';
import { RULEBOOK } from '../support/nursery.js';
import { DAY, morning, NOW, otherSite, site } from './fixtures/scenario.js';
import { type PageService, pageService } from './fixtures/service.js';

const OURS = { 'sec-fetch-site': 'same-origin', 'content-type': 'application/x-www-form-urlencoded' };
const HOUSE = '/sites/hillside/houses/long-house';
const KEY = '0123456789abcdef';

let service: PageService;
beforeEach(async () => {
  service = await pageService([morning(13)]);
});
afterEach(() => service.close());

const post = (path: string, fields: Record<string, string>) =>
  service.app.inject({
    method: 'POST',
    url: `${HOUSE}/limits/${path}`,
    payload: new URLSearchParams(fields).toString(),
    headers: OURS,
  });
const get = async (path: string) => (await service.app.inject(`${HOUSE}${path}`)).body;
const change = (value: unknown, more: object = {}) =>
  JSON.stringify({ limits: [{ name: 'drink-gap', ...more, value }] });
const confirmed = (fields: Record<string, string> = {}) =>
  post('set', { key: KEY, expected: '0', why: 'slow pots', change: change(9), ...fields });
/** Plain text of a page. */
const textOf = (body: string): string => body.replaceAll(/<[^>]+>/g, ' ').replaceAll(/\s+/g, ' ');

describe('the limits of a house', () => {
  it('are all on one page, under plain headings, with what holds', async () => {
    const body = await get('/limits');
    for (const { name, label } of RULEBOOK.file.limits) {
      expect(body).toContain(`${HOUSE}/limits/${name}"`);
      expect(body).toContain(label);
    }
    expect(textOf(body)).toContain('Nothing was set here yet: the usual holds.');
    expect(body).not.toContain('is-own');
  });

  it('stand out where they are not as usual, and name the plants', async () => {
    await confirmed({ change: change(12, { group: 'conophytum', phase: 'growing' }) });
    const body = await get('/limits?group=conophytum&phase=growing');
    expect(body.match(/is-own/g)).toHaveLength(1);
    expect(textOf(body)).toMatch(
      /Drinks 1 not as usual Dry days before a drink 12 days usual: 4 to 10 days Conophytum, growing: 12 days/,
    );
    expect(await get('/limits?group=echeveria')).not.toContain('is-own');
  });

  it('have a page each: usual, bounds, reason, source, and what was set by whom and why', async () => {
    await confirmed({ change: JSON.stringify({ limits: [{ name: 'repot-dry-days', value: 9 }] }) });
    const text = textOf(await get('/limits/repot-dry-days'));
    expect(text).toContain('For the whole house: 9 days Not as usual.');
    expect(text).toContain(
      'Usual 7 days Customary 5 to 10 days May be 3 to 14 days Why Cut roots heal dry before the first drink. Source Common practice, no published source',
    );
    expect(text).toContain('9 days , for the whole house Set Sunday 25 October 2026, 07:30, by Ada: slow pots');
    const missing = await service.app.inject(`${HOUSE}/limits/repot-dry-day`);
    expect([missing.statusCode, textOf(missing.body)]).toEqual([
      404,
      expect.stringContaining('Did you mean repot-dry-days?'),
    ]);
    expect(textOf(await get('/limits/alert/frostBelowC'))).toContain('Usual 2 °C');
  });

  it('are asked for in the way of their kind', async () => {
    expect(await get('/limits/hot-spell-cap')).toMatch(/type="radio" name="word" value="light"/);
    expect(await get('/limits/firm-never')).toMatch(/type="radio" name="word" value="yes"/);
    expect(await get('/limits/shade-burn')).toMatch(
      /name="low" type="number".*max="90" value="40".*name="high".*value="60"/,
    );
    expect(await get('/limits/split-doses')).toMatch(/step="1"/);
    const season = await get('/limits/drink-season?group=conophytum&phase=growing');
    expect(textOf(season)).toContain('0 is the autumn equinox, 90 midwinter');
    expect(season).toContain('name="unasked"');
    expect(await get('/limits/repot-dry-days')).not.toContain('name="unasked"');
  });

  it('are shown to everybody and changed by the owner alone', async () => {
    service.state.reader = { name: 'Ben', mayWrite: true, isOwner: false };
    const body = await get('/limits/repot-dry-days');
    expect(textOf(body)).toContain('Only the owner changes limits.');
    expect(body).not.toContain('name="why"');
    expect(await get('/limits')).not.toContain('name="shown"');
    expect((await confirmed()).statusCode).toBe(403);
    expect((await post('try', { limit: 'drink-gap', number: '9', why: 'x' })).statusCode).toBe(403);
    expect((await post('back', { key: KEY, expected: '1' })).statusCode).toBe(403);
  });
});

describe('a change', () => {
  it.each<[Record<string, string>, string]>([
    [
      { limit: 'drink-gap', group: 'conophytum', phase: 'growing', drink: 'light', number: '12' },
      'Dry days before a drink (Conophytum, growing, light drink): 12 days instead of the usual.',
    ],
    [{ limit: 'hot-spell-cap', word: 'light' }, 'Most water in a hot spell: light instead of the usual.'],
    [{ limit: 'firm-never', word: 'no' }, 'Firm plants are never watered: no instead of the usual.'],
    [
      { limit: 'shade-burn', low: '30', high: '50' },
      'Cloth when leaves come near burning: 30 to 50 % instead of the usual.',
    ],
    [{ limit: 'drink-season', low: '330', high: '60' }, 'Season of the drink: 330° to 60° instead of the usual.'],
    [
      { limit: 'shade-peak', unasked: 'yes', number: '' },
      'Peak light that asks for cloth: not asked instead of the usual.',
    ],
    [{ alert: 'frostBelowC', number: '3' }, 'Night minimum below which heat goes on: 3 °C instead of the usual.'],
    [{ tasks: 'yes', shown: 'repot' }, 'Task feed: no longer shown.'],
  ])('%j is shown before it is made', async (fields, words) => {
    const answer = await post('try', { why: 'slow pots', ...fields });
    expect(answer.statusCode).toBe(200);
    const text = textOf(answer.body);
    expect(text).toContain('Nothing is changed yet');
    expect(text).toContain(words);
    expect(text).toContain('Because: slow pots');
    expect(await service.storage.settings.history('hillside', 'long-house')).toEqual([]);
    // What the page carries on is what is set.
    const hidden = /name="change" value="([^"]*)"/.exec(answer.body)?.[1]?.replaceAll('&quot;', '"') ?? '';
    expect((await confirmed({ change: hidden })).headers.location).toBe(`${HOUSE}/limits?said=set`);
    expect(textOf(await get('/limit-history'))).toContain(words);
  });

  it('says what today’s list would say, batch by batch', async () => {
    const text = textOf((await post('try', { limit: 'drink-gap', number: '9', why: 'x' })).body);
    expect(text).toMatch(/Sunday 25 October 2026, Long house: 2 of 14 batches would be told something else\./);
    expect(text).toMatch(/Drink: leave dry , now a light drink, 7\.5 mL a pot\./);
  });

  it.each<[Record<string, string>, string]>([
    [{ limit: 'drink-gap', number: '900' }, 'expected 0 to 200 days, got 900.'],
    [{ limit: 'drink-gap', number: '' }, 'No value was filled in.'],
    [{ limit: 'drink-gap', number: 'long' }, 'expected a number, got long'],
    [{ limit: 'drink-gap', number: '9', why: '' }, 'expected the reason for the change'],
    [{ limit: 'repot-light-days', number: '6' }, 'expected at least 7 days, where “Dry days after repotting” stands'],
    [{ limit: 'drink-gap', act: 'unset' }, 'expected a value that is set for this house'],
  ])('%j is refused in plain words, with the way back', async (fields, words) => {
    const answer = await post('try', { why: 'slow pots', ...fields });
    expect([answer.statusCode, textOf(answer.body)]).toEqual([422, expect.stringContaining(words)]);
    expect(answer.body).toContain(`href="${HOUSE}/limits"`);
  });

  it('counts once when it is tapped twice, and not over what somebody else set', async () => {
    await confirmed();
    expect((await confirmed()).statusCode).toBe(303);
    expect(await service.storage.settings.history('hillside', 'long-house')).toHaveLength(1);
    const late = await confirmed({ key: `${KEY}2`, change: change(10) });
    expect([late.statusCode, textOf(late.body)]).toEqual([
      409,
      expect.stringContaining('Ada set something for this house in the meantime'),
    ]);
    const nonsense = await confirmed({ key: `${KEY}3`, change: '{"limits": 5}' });
    expect(nonsense.statusCode).toBe(422);
  });

  it('is taken back in one tap, to the step before, to any other, or to the usual', async () => {
    await confirmed();
    await confirmed({ key: `${KEY}2`, change: change(10), expected: '1' });
    const back = (expected: number, more: Record<string, string> = {}) =>
      post('back', { key: `${KEY}-${expected}`, expected: String(expected), ...more });
    const inForce = async () => (await service.storage.settings.history('hillside', 'long-house'))[0]?.limits;
    expect((await back(2)).headers.location).toBe(`${HOUSE}/limits?said=back`);
    expect(await inForce()).toEqual([{ name: 'drink-gap', value: 9 }]);
    await back(3, { to: '2' });
    expect(await inForce()).toEqual([{ name: 'drink-gap', value: 10 }]);
    await back(4, { to: '0' });
    expect(await inForce()).toEqual([]);
    const text = textOf(await get('/limit-history'));
    expect(text).toContain('Number 5 , in force Dry days before a drink: the usual instead of 10 days.');
  });
});

it('the list leads to the limits of each house', async () => {
  const { body } = await service.app.inject('/sites/hillside');
  for (const { id } of site.houses) expect(body).toContain(`href="/sites/hillside/houses/${id}/limits"`);
  expect((await service.app.inject('/sites/hillside/houses/nowhere/limits')).statusCode).toBe(404);
  expect(DAY).toBe('2026-10-25');
});

describe('values in words', () => {
  const season = { site, now: NOW };
  const celsius = { kind: 'number', unit: '°C' } as const;
  it('say a range where it depends on the plants', () => {
    expect(valuesWords(season, celsius, [4, 6, null])).toBe('4 to 6 °C, or not asked');
    expect(valuesWords(season, celsius, [5])).toBe('5 °C');
    expect(valuesWords(season, celsius, [])).toBe('no drink is given');
    expect(valuesWords(season, { kind: 'flag', unit: '' }, [false, true])).toBe('No, or yes');
  });

  it('give the dates of a season where the house stands, half a year apart in the two hemispheres', () => {
    // Almanac, UTC: 21 December 2026 20:50, 20 March 2027 20:25, 21 June 2027 14:11, 23 September 2027 06:02; Sydney is
    // ten hours ahead.
    const words = (where: typeof site) =>
      valuesWords({ site: where, now: NOW }, { kind: 'season', unit: '' }, [[[90, 180]]]);
    expect(words(site)).toMatch(/^21 Dec to 20 Mar$/);
    expect(words(otherSite)).toMatch(/^22 Jun to 23 Sept?$/);
    expect(words({ ...site, latitude: 3 })).toBe('90° to 180°');
  });
});
