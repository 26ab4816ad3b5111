import { gunzipSync, gzipSync } from 'node:zlib';
import { afterEach, describe, expect, it } from 'vitest';
import { advice, DAY, morning, NOW } from './fixtures/scenario.js';
import { diskFull, type PageService, pageService } from './fixtures/service.js';

const OURS = { 'sec-fetch-site': 'same-origin', 'content-type': 'application/x-www-form-urlencoded' };
const KEY = '0123456789abcdef';
const form = (fields: Record<string, string>) => new URLSearchParams({ key: KEY, day: DAY, ...fields }).toString();
const tick = (value: string, more: Record<string, string> = {}) => form({ tick: value, ...more });
const DRINK = 'as-advised//tray-6:full:35';

let service: PageService;
afterEach(() => service.close());

const post = (path: string, payload: string, headers: Record<string, string> = OURS) =>
  service.app.inject({ method: 'POST', url: `/sites/hillside/${path}`, payload, headers });
const noted = async () =>
  (await service.storage.journal.list({ siteId: 'hillside', limit: 500 })).filter(
    (entry) => !['bench-added', 'batch-created'].includes(entry.event.kind),
  );

describe('the list', () => {
  it('costs a phone at most 30 kB with everything it loads, at 30 batches a house', async () => {
    service = await pageService([morning(30)]);
    const page = await service.app.inject({ url: '/sites/hillside', headers: { 'accept-encoding': 'gzip' } });
    const html = gunzipSync(page.rawPayload).toString();
    expect(html.match(/id="b-/g)).toHaveLength(121);
    let bytes = page.rawPayload.length;
    const paths = new Set([...html.matchAll(/(?:href|src)="(\/(?:assets|sw)[^"#]*)"/g)].map((match) => match[1] ?? ''));
    for (const path of [...paths, '/assets/outbox.js', '/sw.js']) {
      const answer = await service.app.inject({ url: path, headers: { 'accept-encoding': 'gzip' } });
      expect(answer.statusCode).toBe(200);
      bytes += answer.rawPayload.length;
    }
    expect(paths.size).toBe(4);
    expect(bytes).toBeLessThanOrEqual(30 * 1024);
  });

  it('stays small with ten thousand batches: what stays dry is one line per bench', async () => {
    service = await pageService([morning(2500)]);
    const { body } = await service.app.inject('/sites/hillside');
    expect(gzipSync(body).length).toBeLessThanOrEqual(20 * 1024);
    expect(body).toContain('href="/sites/hillside/benches/bench-8"');
    expect(body).not.toContain('class="dry-row"');
  });

  it('shows an old list as old when today has none, and says so when there never was one', async () => {
    service = await pageService();
    service.state.today = '2026-10-26';
    expect((await service.app.inject('/sites/hillside')).body).toContain('This is the list of Sunday 25 October 2026.');
    const first = await service.app.inject('/sites/southfield');
    expect(first.statusCode).toBe(200);
    expect(first.body).toContain('There is no list yet.');
  });

  it('says nothing is to water when nothing is', async () => {
    const round = morning(13);
    const dry = round.houses.filter((house) => house.houseId === 'dry-house');
    service = await pageService([{ ...round, houses: dry, look: [] }]);
    const { body } = await service.app.inject('/sites/hillside');
    expect(body).toContain('Nothing to water today');
    expect(body).toContain('7 batches to leave dry, ');
  });

  it('tells a day of 25 hours', async () => {
    service = await pageService();
    expect((await service.app.inject('/sites/hillside')).body).toContain(
      'The clocks go back today. This day has 25 hours.',
    );
  });

  it('writes names as text, whatever is in them', async () => {
    const name = '<img src=x onerror=alert(1)>"&';
    const round = morning(12);
    const house = round.houses[2];
    const line = house?.lines[0];
    if (!house || !line) throw new Error('the scenario has a seedling frame');
    service = await pageService([
      { ...round, houses: [{ ...house, lines: [{ ...line, batches: [advice('full', { name })] }] }] },
    ]);
    const { body } = await service.app.inject('/sites/hillside');
    expect(body).not.toContain('<img');
    expect(body).toContain('&lt;img src=x onerror=alert(1)>&quot;&amp;');
  });

  it('leads the start address to the only site, the last one seen, or the choice', async () => {
    service = await pageService();
    expect((await service.app.inject('/')).headers.location).toBe('/sites');
    expect((await service.app.inject({ url: '/', headers: { cookie: 'site=southfield' } })).headers.location).toBe(
      '/sites/southfield',
    );
    expect((await service.app.inject({ url: '/', headers: { cookie: 'site=elsewhere' } })).headers.location).toBe(
      '/sites',
    );
    service.state.sites = service.state.sites.slice(0, 1);
    expect((await service.app.inject('/')).headers.location).toBe('/sites/hillside');
  });

  it('remembers what was read, and does not ask to read again what says the same', async () => {
    const first = morning(14, { revision: 1 });
    service = await pageService([first, { ...first, revision: 2 }]);
    const answer = await service.app.inject({ url: '/sites/hillside', headers: { cookie: `read-hillside=${DAY}.1` } });
    expect(answer.body).not.toContain('Changed since');
    expect(String(answer.headers['set-cookie'])).toContain(`read-hillside=${DAY}.2; Path=/sites/hillside`);
    expect(String(answer.headers['set-cookie'])).toContain('HttpOnly; SameSite=Lax');
  });
});

describe('a form of the list', () => {
  it('is one entry however often it arrives', async () => {
    service = await pageService();
    const answers = await Promise.all([
      post('ticks', tick(DRINK)),
      post('ticks', tick(DRINK)),
      post('ticks', tick(DRINK, { ago: '5000' })),
    ]);
    // The first arrival is noted; one that comes while it is being written is told to look, a later one gets the same answer.
    for (const answer of answers) expect([303, 409]).toContain(answer.statusCode);
    expect((await post('ticks', tick(DRINK))).headers.location).toBe('/sites/hillside#b-tray-6');
    expect(await noted()).toHaveLength(1);
  });

  it('is another entry for another batch of the same page', async () => {
    service = await pageService();
    await post('ticks', tick(DRINK));
    await post('ticks', tick('skipped//tray-7:none'));
    const [skipped, drink] = await noted();
    expect(drink?.by).toBe('Ada');
    expect(drink?.event).toMatchObject({
      batchIds: ['tray-6'],
      amount: 'full',
      mlPerPot: 35,
      answer: 'as-advised',
      day: DAY,
    });
    expect(skipped?.event).toMatchObject({ batchIds: ['tray-7'], amount: 'none', answer: 'skipped' });
  });

  it('notes what the person saw, though the list was made anew meanwhile', async () => {
    service = await pageService();
    const other = morning(14, { revision: 3 });
    service.state.rounds.push({ ...other, houses: other.houses.map((house) => ({ ...house, lines: [] })) });
    await post('ticks', tick(DRINK));
    expect((await noted())[0]?.event).toMatchObject({ amount: 'full', mlPerPot: 35 });
  });

  it('splits a line by what each pot got', async () => {
    service = await pageService();
    await post('ticks', tick('as-advised/line-1/tray-1:full:35,tray-2:full:20,tray-3:full:35'));
    const events = (await noted()).map((entry) => entry.event).reverse();
    expect(events).toMatchObject([
      { lineId: 'line-1', batchIds: ['tray-1', 'tray-3'], mlPerPot: 35 },
      { lineId: 'line-1', batchIds: ['tray-2'], mlPerPot: 20 },
    ]);
  });

  it('keeps the moment of the tap when it waited on a phone, and never a moment too far back', async () => {
    service = await pageService();
    await post('ticks', tick(DRINK, { ago: '3600000' }));
    await post('ticks', tick('skipped//tray-7:none', { ago: String(30 * 24 * 3_600_000) }));
    const [late, hour] = await noted();
    expect(hour?.happenedAt).toBe(NOW - 3_600_000);
    expect(late?.happenedAt).toBe(NOW);
  });

  it('is refused from a page of another site', async () => {
    service = await pageService();
    const foreign: Record<string, string>[] = [
      { 'sec-fetch-site': 'cross-site' },
      { 'sec-fetch-site': 'same-site' },
      { origin: 'https://elsewhere.example' },
      { origin: 'null' },
    ];
    for (const headers of foreign) {
      const answer = await post('ticks', tick(DRINK), { ...headers, 'content-type': OURS['content-type'] });
      expect(answer.statusCode).toBe(403);
    }
    expect(await noted()).toEqual([]);
    const host = 'greenhouse.lan:8080';
    const answer = await post('ticks', tick(DRINK), {
      host,
      origin: `http://${host}`,
      'content-type': OURS['content-type'],
    });
    expect(answer.statusCode).toBe(303);
  });

  it('is refused to who may only read, and the buttons are not there', async () => {
    service = await pageService();
    service.state.reader = { name: 'Visitor', mayWrite: false, isOwner: false };
    expect((await post('ticks', tick(DRINK))).statusCode).toBe(403);
    const { body } = await service.app.inject('/sites/hillside');
    expect(body).toContain('Full drink, 35 mL a pot');
    expect(body).not.toMatch(/Done as advised|Note what you saw/);
  });

  it('goes back only to a page of ours', async () => {
    service = await pageService();
    for (const back of [
      'https://elsewhere.example/',
      '//elsewhere.example/',
      '/\\elsewhere.example',
      'javascript:alert(1)',
    ]) {
      const answer = await post('undo', form({ entry: '99999', back }));
      expect(answer.body).not.toContain('elsewhere');
      const ticked = await post('ticks', tick(DRINK, { back, key: `${KEY}${back.length}` }));
      expect(ticked.headers.location).toBe('/sites/hillside#b-tray-6');
    }
  });

  it('says what is wrong and how to mend it when it cannot be taken', async () => {
    service = await pageService();
    const unknown = await post('ticks', tick('as-advised//tray-6000:full:35'));
    expect(unknown.statusCode).toBe(422);
    expect(unknown.body).toContain('<title>Error: ');
    expect(unknown.body).toContain('tray-6000');
    const mangled = await post('ticks', tick('as-advised//tray-6:bucket'));
    expect(mangled.statusCode).toBe(422);
    expect(mangled.body).toContain('expected a button of the list; open the list again');
    const empty = await post('notes', form({ batch: 'tray-9' }));
    expect(empty.body).toContain('Nothing was noted.');
    expect((await post('notes', form({ batch: 'Trey 9', firmness: 'soft' }))).body).toContain(
      'There is no such batch.',
    );
    expect(await noted()).toEqual([]);
    const parts = await post('ticks', tick('as-advised//tray-6000:full:35'), { ...OURS, 'x-leafturn-parts': '1' });
    expect(parts.json()).toMatchObject({ status: 422, again: false });
  });

  it('can be sent again after a full disk, and nothing of the inside is told', async () => {
    service = await pageService();
    service.state.failRecord = diskFull();
    const answer = await post('ticks', tick(DRINK));
    expect(answer.statusCode).toBe(507);
    expect(answer.body).toContain('The disk is full');
    service.state.failRecord = new Error('SELECT secret FROM inside');
    const odd = await post('ticks', tick(DRINK));
    expect(odd.statusCode).toBe(500);
    expect(odd.body).not.toContain('secret');
    const parts = await post('ticks', tick(DRINK), { ...OURS, 'x-leafturn-parts': '1' });
    expect(parts.json()).toMatchObject({ again: true });
    delete service.state.failRecord;
    expect((await post('ticks', tick(DRINK))).statusCode).toBe(303);
    expect(await noted()).toHaveLength(1);
  });

  it('for a bench notes every batch that stands there', async () => {
    service = await pageService();
    await post('notes', form({ bench: 'bench-2', substrate: 'looked-dry', text: 'Fan was off.' }));
    const [words, seen] = await noted();
    const batchIds = ['tray-10', 'tray-6', 'tray-7', 'tray-8', 'tray-9'];
    expect(seen?.event).toMatchObject({ kind: 'signs', substrate: 'looked-dry' });
    expect([...(seen?.event.kind === 'signs' ? seen.event.batchIds : [])].sort()).toEqual(batchIds);
    expect(words?.event).toMatchObject({ kind: 'note', text: 'Fan was off.' });
  });

  it('notes a cloth of the house, and no other', async () => {
    service = await pageService();
    expect((await post('cloths', form({ house: 'long-house', cloth: 'white-50' }))).statusCode).toBe(303);
    expect((await service.keeper.collection('hillside')).cloths.get('long-house')?.value).toBe('white-50');
    await post('cloths', form({ house: 'long-house', cloth: 'none' }));
    expect((await service.keeper.collection('hillside')).cloths.get('long-house')?.value).toBeNull();
    expect((await post('cloths', form({ house: 'long-house', cloth: 'silk' }))).statusCode).toBe(422);
  });

  it('works beside a form parser that the server has already', async () => {
    service = await pageService([morning()], true);
    expect((await post('ticks', tick(DRINK))).statusCode).toBe(303);
  });
});

describe('every answer', () => {
  it('forbids scripts and styles that are not ours', async () => {
    service = await pageService();
    for (const url of [
      '/sites/hillside',
      '/sites',
      '/sites/hillside/batches/nowhere',
      '/sw.js',
      '/assets/leafturn.css',
    ]) {
      const answer = await service.app.inject(url);
      const policy = String(answer.headers['content-security-policy']);
      expect(policy).toContain("default-src 'none'; style-src 'self'; script-src 'self'");
      expect(policy).not.toContain('unsafe');
      expect(answer.headers['x-content-type-options']).toBe('nosniff');
      if (answer.headers['content-type']?.toString().startsWith('text/html'))
        expect(answer.body).not.toMatch(/<style|style=|<script(?![^>]*src=)|\son\w+=/);
    }
  });

  it('tells what is not there with the way back', async () => {
    service = await pageService();
    for (const url of ['/sites/nowhere', '/sites/hillside/batches/nowhere', '/sites/hillside/benches/nowhere']) {
      const answer = await service.app.inject(url);
      expect(answer.statusCode).toBe(404);
      expect(answer.body).toContain('Go back');
      expect(answer.body).toContain('nowhere');
    }
  });
});

describe('the page of a batch', () => {
  it('tells its history, what was taken back too, and every rule', async () => {
    service = await pageService();
    await post('ticks', tick(DRINK));
    const entry = (await noted())[0];
    await post('notes', form({ batch: 'tray-6', key: `${KEY}2`, firmness: 'very-soft', signs: 'rot' }));
    await post('undo', form({ entry: String(entry?.id), key: `${KEY}3` }));
    const { body } = await service.app.inject('/sites/hillside/batches/tray-6');
    expect(body).toContain('<del>Done as advised: Full drink, 35 mL a pot</del> Taken back.');
    expect(body).toContain('Seen: body very soft; rot');
    expect(body).toContain('Sun 25 Oct, 07:30 · Ada');
    expect(body).toContain('Every rule that was looked at');
    expect(body.match(/class="rule"/g)).toHaveLength(11);
    expect(body).toContain('Source: common practice, no published source');
    expect(body).toContain('Growing, 82 % sure (calendar at this season).');
  });
});
