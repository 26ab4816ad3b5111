import { describe, expect, it, onTestFinished } from 'vitest';
import { pageService } from './fixtures/service.js';

const SITE = '/sites/hillside';
const KEY = '11111111-2222-3333-4444-555555555555';

async function open() {
  const service = await pageService();
  onTestFinished(() => service.close());
  const post = (path: string, fields: Record<string, string>) =>
    service.app.inject({
      method: 'POST',
      url: `${SITE}/${path}`,
      headers: { 'content-type': 'application/x-www-form-urlencoded' },
      payload: new URLSearchParams({ key: KEY, ...fields }).toString(),
    });
  const get = async (path: string) => (await service.app.inject(`${SITE}${path}`)).body;
  const collection = () => service.keeper.collection('hillside');
  return { service, post, get, collection };
}

const NEW = {
  name: 'Tray 99, sown by hand',
  group: 'argyroderma',
  bench: 'bench-2',
  pots: '12',
  pot: 'square-7cm-plastic',
  mix: 'mineral-80-20',
  worth: '10',
  sownOn: '2024-03-15',
};

describe('a new batch', () => {
  it('is kept with all that was filled in, and its page follows', async () => {
    const { post, get, collection } = await open();
    const form = await get('/new-batch');
    for (const words of ['Name, as on the label', 'Species group', 'How many pots', 'Cannot be replaced'])
      expect(form).toContain(words);
    const made = await post('new-batch', NEW);
    expect([made.statusCode, made.headers.location]).toEqual([303, `${SITE}/batches/tray-99-sown-by-hand`]);
    expect((await collection()).batches.get('tray-99-sown-by-hand')).toMatchObject({
      name: NEW.name,
      group: 'argyroderma',
      benchId: 'bench-2',
      potCount: 12,
      worth: 10,
      sownOn: '2024-03-15',
    });
    expect(await get('/batches/tray-99-sown-by-hand')).toContain('Batch begun with 12 pots');
  });

  it('counts once, however often its form arrives', async () => {
    const { post, collection } = await open();
    const before = (await collection()).batches.size;
    await post('new-batch', NEW);
    const again = await post('new-batch', NEW);
    expect(again.headers.location).toBe(`${SITE}/batches?q=Tray%2099%2C%20sown%20by%20hand`);
    expect((await collection()).batches.size).toBe(before + 1);
  });

  it('of a name that is there already gets an id of its own', async () => {
    const { post } = await open();
    await post('new-batch', NEW);
    const twin = await post('new-batch', { ...NEW, key: `${KEY}-2` });
    expect(twin.headers.location).toBe(`${SITE}/batches/tray-99-sown-by-hand-2`);
  });

  it('may come with a new bench of a house', async () => {
    const { post, collection } = await open();
    const made = await post('new-batch', { ...NEW, bench: '', newBench: 'Window sill', house: 'long-house' });
    expect(made.statusCode).toBe(303);
    const { benches, batches } = await collection();
    expect(benches.get('window-sill')).toMatchObject({ name: 'Window sill', houseId: 'long-house', lineId: null });
    expect(batches.get('tray-99-sown-by-hand')?.benchId).toBe('window-sill');
  });

  it.each<[string, Record<string, string>, string]>([
    ['no name', { name: ' ' }, 'expected a name, got'],
    ['no pots', { pots: '0' }, 'expected at least one pot, got 0'],
    ['pots that are no number', { pots: 'many' }, 'expected a number of pots, got many'],
    ['half a pot', { pots: '2.5' }, 'expected a whole number of pots, got 2.5'],
    ['no bench', { bench: '' }, 'expected a bench, or the name of a new one'],
    ['two benches', { newBench: 'Sill', house: 'long-house' }, 'either a bench that is there or a new one, not both'],
    ['a new bench nowhere', { bench: '', newBench: 'Sill' }, 'expected the house in which the new bench stands'],
    ['no such date', { sownOn: '2024-02-31' }, 'expected a date such as 2024-03-15, or nothing, got 2024-02-31'],
    ['a group nobody knows', { group: 'cactus' }, 'cactus'],
    ['a bench that is not there', { bench: 'bench-77' }, 'bench-77'],
  ])('with %s is refused in words, and what was filled in stands there still', async (_, wrong, words) => {
    const { post, collection } = await open();
    const before = (await collection()).batches.size;
    const { statusCode, body } = await post('new-batch', { ...NEW, ...wrong });
    expect(statusCode).toBe(422);
    expect(body).toContain('Nothing you filled in is lost.');
    expect(body).toContain(words);
    if (!('name' in wrong)) expect(body).toContain('value="Tray 99, sown by hand"');
    expect((await collection()).batches.size).toBe(before);
  });

  it('is not for who may only read, and a new bench is for the owner', async () => {
    const { service, post, get } = await open();
    service.state.reader = { name: 'Ben', mayWrite: true, isOwner: false };
    expect(await get('/new-batch')).not.toContain('new bench');
    expect((await post('new-batch', { ...NEW, bench: '', newBench: 'Sill', house: 'long-house' })).statusCode).toBe(
      403,
    );
    service.state.reader = { name: 'Eve', mayWrite: false, isOwner: false };
    expect((await post('new-batch', NEW)).statusCode).toBe(403);
    expect(await get('/batches?q=tray')).not.toContain('Add a new batch');
  });
});

describe('what became of a batch', () => {
  it.each<[string, Record<string, string>, object, string]>([
    ['move', { bench: 'bench-1' }, { benchId: 'bench-1' }, 'Moved to Bench 1'],
    ['lose', { pots: '2', cause: 'rot' }, { potCount: 12, lostPots: 2 }, '2 pots lost: rot'],
    [
      'split',
      { pots: '4', name: 'Best of tray 6', bench: 'bench-1' },
      { potCount: 10 },
      '4 pots split off as Best of tray 6',
    ],
    ['repot', { pot: 'square-7cm-plastic', mix: 'mineral-80-20', roots: 'whole' }, {}, 'Repotted, roots kept whole'],
    ['end', { reason: 'died', cause: 'frost' }, { endReason: 'died: frost' }, 'Ended: died, frost'],
  ])('%s: is kept, told in its history, and can be taken back there', async (act, fields, state, words) => {
    const { post, get, collection } = await open();
    const before = (await collection()).batches.get('tray-6');
    expect(before).toMatchObject({ potCount: 14, benchId: 'bench-2' });
    const done = await post(`batches/tray-6/${act}`, fields);
    expect([done.statusCode, done.headers.location]).toEqual([303, `${SITE}/batches/tray-6?said=kept`]);
    expect((await collection()).batches.get('tray-6')).toMatchObject(state);
    const page = await get('/batches/tray-6?said=kept');
    expect(page).toContain('It is noted. The list is made again with it.');
    expect(page).toContain(words);
    const entry = /name="entry" value="(\d+)" aria-label="Undo: /.exec(page)?.[1] as string;
    expect((await post('undo', { entry, back: `${SITE}/batches/tray-6` })).statusCode).toBe(303);
    expect((await collection()).batches.get('tray-6')).toEqual(before);
    const after = await get('/batches/tray-6');
    expect(after).toContain(`<del>${words}</del>`);
    expect(after).not.toContain(`aria-label="Undo: ${words}"`);
  });

  it('counts once, and the same page may say two things', async () => {
    const { post, collection } = await open();
    const loss = { pots: '1', cause: 'pest' };
    await post('batches/tray-6/lose', loss);
    await post('batches/tray-6/lose', loss);
    await post('batches/tray-6/move', { bench: 'bench-1' });
    expect((await collection()).batches.get('tray-6')).toMatchObject({ potCount: 13, benchId: 'bench-1' });
  });

  it.each<[string, Record<string, string>, number, string]>([
    ['batches/tray-6/lose', { pots: '', cause: 'rot' }, 422, 'expected at least one pot'],
    ['batches/tray-6/lose', { pots: '1', cause: 'boredom' }, 422, 'expected one of rot, doubled'],
    ['batches/tray-6/lose', { pots: '99', cause: 'rot' }, 422, '14'],
    ['batches/tray-6/move', { bench: 'nowhere' }, 422, 'nowhere'],
    ['batches/tray-6/eat', {}, 404, 'A batch is not asked for'],
    ['batches/tray-666/move', { bench: 'bench-1' }, 404, 'There is no batch called tray-666'],
  ])('%s with %j is refused with the reason', async (path, fields, status, words) => {
    const { post, collection } = await open();
    const before = await collection();
    const { statusCode, body } = await post(path, fields);
    expect(statusCode).toBe(status);
    expect(body).toContain(words);
    expect((await collection()).journalId).toBe(before.journalId);
  });

  it('is asked of living batches, of who may write', async () => {
    const { service, post, get } = await open();
    expect(await get('/batches/tray-6')).toContain('What became of it');
    service.state.reader = { name: 'Eve', mayWrite: false, isOwner: false };
    expect(await get('/batches/tray-6')).not.toContain('What became of it');
    service.state.reader = { name: 'Ada', mayWrite: true, isOwner: true };
    await post('batches/tray-6/end', { reason: 'sold' });
    expect(await get('/batches/tray-6')).not.toContain('What became of it');
  });
});
