import { describe, expect, onTestFinished, test } from 'vitest';
import { createHouseSettings } from '../../src/advice/house-settings.js';
import { createLimitsDesk } from '../../src/advice/limits-desk.js';
import { addDays } from '../../src/domain/time.js';
import { CATALOGUE, MILD, openNursery, plantSoft, RULEBOOK } from '../support/nursery.js';
import { openService, type Service } from './support.js';

const DAY = '2026-06-10';
const at = '/sites/home/houses/north/limits';
const set = (service: Service, body: object, headers?: Record<string, string>) =>
  send(service, 'PATCH', at, { why: 'our pots dry slowly', expected: 0, ...body }, headers);
let keys = 0;
const send = (
  service: Service,
  method: 'PATCH' | 'POST',
  path: string,
  payload: object,
  headers: Record<string, string> = {},
) =>
  service.app.inject({
    method,
    url: `/api/v1${path}`,
    headers: { 'idempotency-key': `limits-${++keys}`, ...headers },
    payload,
  });

interface Item {
  readonly name: string;
}
const itemOf = (body: { items: Item[] }, name: string) => body.items.find((item) => item.name === name);

/** The service over real plants and real lists. */
async function growing(): Promise<Service> {
  const nursery = await openNursery();
  await plantSoft(nursery, DAY);
  await nursery.readings(addDays(DAY, -61), addDays(DAY, -1), MILD);
  await nursery.readings(DAY, DAY, MILD, (instant) => instant < nursery.now);
  onTestFinished(() => nursery.close());
  const words = { rulebook: () => RULEBOOK, catalogue: () => CATALOGUE };
  const { storage, keeper, rounds } = nursery;
  const settings = await createHouseSettings({ store: storage.settings, now: () => nursery.now, ...words });
  const houseLimits = createLimitsDesk({ settings, rounds, ...words });
  return openService({
    change: (deps) => ({ ...deps, sites: () => [nursery.site], storage, keeper, rounds, houseLimits }),
  });
}

describe('limits of a house', () => {
  test('are read with everything a grower must know to change them', async () => {
    const service = await openService();
    const answer = await service.get(at);
    expect(answer.statusCode).toBe(200);
    const body = answer.json();
    expect(body).toMatchObject({ siteId: 'home', houseId: 'north', revision: 0, leftOut: [], tasksOff: [] });
    expect(body.items).toHaveLength(RULEBOOK.limits.size);
    expect(itemOf(body, 'repot-dry-days')).toEqual({
      name: 'repot-dry-days',
      label: 'Dry days after repotting',
      section: 'safety',
      kind: 'number',
      unit: 'days',
      bounds: [3, 14],
      whole: false,
      mayBeUnasked: false,
      perDrink: false,
      notAbove: 'repot-light-days',
      default: 7,
      customary: [5, 10],
      reason: 'Cut roots heal dry before the first drink.',
      source: 'common practice, no published source',
      usual: [7],
      now: [7],
      differs: false,
      own: [],
    });
    const again = await service.get(at, { headers: { 'if-none-match': String(answer.headers.etag) } });
    expect(again.statusCode).toBe(304);
  });

  test('are set as a revision with who, when and why, and what differs says so', async () => {
    const service = await openService({ tokens: { o: 'owner' } });
    const headers = { authorization: 'Bearer o' };
    const limits = [{ name: 'min-wet', group: 'conophytum', value: 9 }];
    const answer = await set(service, { limits }, headers);
    expect([answer.statusCode, answer.json()]).toMatchObject([
      201,
      { revision: 1, by: 'owner', why: 'our pots dry slowly', limits, at: service.garden.now },
    ]);
    expect(answer.json().changes[0]).toMatch(
      /^Coldest night for a freshly watered plant \(.*\): 9 °C instead of the usual\.$/,
    );
    const own = { ...limits[0], revision: 1, at: service.garden.now, by: 'owner', why: 'our pots dry slowly' };
    const seen = async (query: string) => itemOf((await service.get(at + query, { headers })).json(), 'min-wet');
    expect(await seen('?group=conophytum&phase=growing')).toMatchObject({ now: [9], differs: true, own: [own] });
    expect(await seen('?group=echeveria')).toMatchObject({ differs: false });
  });

  test('are not set twice by a request that is repeated, nor over what somebody else set', async () => {
    const service = await openService();
    const once = () => set(service, { limits: [{ name: 'drink-gap', value: 9 }] }, { 'idempotency-key': 'same' });
    const first = await once();
    expect((await once()).body).toBe(first.body);
    const late = await set(service, { limits: [{ name: 'drink-gap', value: 10 }] });
    expect([late.statusCode, late.json()]).toMatchObject([
      409,
      {
        detail: 'this machine set something for this house in the meantime: our pots dry slowly',
        errors: [{ pointer: '#/expected', expected: 'the newest revision, 1', got: '0' }],
      },
    ]);
  });

  test('are refused with every mistake at its place, and nothing is set', async () => {
    const service = await openService();
    const answer = await set(service, {
      limits: [
        { name: 'wet-night-hour', value: 5 },
        { name: 'drink-gap', phase: 'growin', value: 'long' },
      ],
      tasksOff: ['sleep'],
    });
    expect(answer.statusCode).toBe(422);
    expect(answer.json().errors.map(({ pointer, detail }: Record<string, string>) => [pointer, detail])).toEqual([
      ['#/limits/0/name', expect.stringMatching(/Did you mean wet-night-hours\?$/)],
      ['#/limits/1/phase', expect.stringMatching(/Did you mean growing\?$/)],
      ['#/limits/1/value', expect.stringMatching(/expected a number, days, got "long"/)],
      ['#/tasksOff/0', expect.anything()],
    ]);
    expect((await set(service, { limits: [], why: undefined })).json().errors).toMatchObject([{ pointer: '#/why' }]);
    expect((await service.get(at)).json().revision).toBe(0);
  });

  test('of a house, a group or a phase that is not there name the nearest one', async () => {
    const service = await openService();
    expect((await service.get('/sites/home/houses/nort/limits')).json().detail).toMatch(/Did you mean north\?/);
    expect((await service.get(`${at}?group=conophytun`)).json().errors).toMatchObject([
      { parameter: 'group', got: 'conophytun' },
    ]);
    expect((await service.get(`${at}?phase=sleeping`)).statusCode).toBe(400);
  });

  test('go back one step, and keep their history page by page', async () => {
    const service = await openService();
    for (const [expected, value] of [9, 10].entries())
      await set(service, { limits: [{ name: 'drink-gap', value }], expected });
    const back = await send(service, 'POST', `${at}/back`, { expected: 2 });
    expect([back.statusCode, back.json()]).toMatchObject([
      201,
      {
        revision: 3,
        limits: [{ name: 'drink-gap', value: 9 }],
        changes: ['Dry days before a drink: 9 days instead of 10 days.'],
      },
    ]);
    expect((await send(service, 'POST', `${at}/back`, { expected: 3, to: 3 })).statusCode).toBe(409);
    const page = (await service.get(`${at}/revisions?limit=2`)).json();
    expect(
      page.items.map(({ revision, changes }: { revision: number; changes: string[] }) => [revision, ...changes]),
    ).toEqual([
      [3, 'Dry days before a drink: 9 days instead of 10 days.'],
      [2, 'Dry days before a drink: 10 days instead of 9 days.'],
    ]);
    const rest = (await service.app.inject(page.next)).json();
    expect(rest).toMatchObject({ items: [{ revision: 1, why: 'our pots dry slowly' }], next: null });
    expect(rest.items[0].changes).toEqual(['Dry days before a drink: 9 days instead of the usual.']);
  });

  test('are set by the owner, tried by staff, and seen by everybody', async () => {
    const service = await openService({ tokens: { r: 'read', s: 'staff', o: 'owner' } });
    const statuses = async (token: string) => {
      const headers = { authorization: `Bearer ${token}` };
      const { revision } = (await service.get(at, { headers })).json();
      const limits = [{ name: 'drink-gap', value: 20 + revision }];
      return [
        (await service.get(at, { headers })).statusCode,
        (await service.get(`${at}/revisions`, { headers })).statusCode,
        (await send(service, 'POST', `${at}/try`, { limits }, headers)).statusCode,
        (await set(service, { limits, expected: revision }, headers)).statusCode,
        (await send(service, 'POST', `${at}/back`, { expected: revision + 1 }, headers)).statusCode,
      ];
    };
    expect(await statuses('r')).toEqual([200, 200, 403, 403, 403]);
    expect(await statuses('s')).toEqual([200, 200, 200, 403, 403]);
    expect(await statuses('o')).toEqual([200, 200, 200, 201, 201]);
  });
});

describe('a draft', () => {
  const limits = [{ name: 'drink-gap', group: 'echeveria', value: 60 }];

  test('says what today’s list would say, and stores nothing', async () => {
    const service = await growing();
    const answer = await send(service, 'POST', `${at}/try`, { limits });
    expect(answer.statusCode).toBe(200);
    expect(answer.json()).toMatchObject({ revision: 0, limits, today: { day: DAY, batches: 3 } });
    expect(answer.json().today.differing.map(({ batchId }: { batchId: string }) => batchId)).toEqual([
      'thirsty',
      'firm',
    ]);
    expect((await service.get(at)).json().revision).toBe(0);
    expect((await service.get('/sites/home/rounds/today')).statusCode).toBe(404);
  });

  test('decides a case you describe both ways', async () => {
    const service = await growing();
    const given = {
      group: 'echeveria',
      on: { latitude: 51, date: DAY },
      plant: { phase: 'growing', firmness: 'soft', ageMonths: 40 },
      pot: { dryDays: 20, depletion: 1, lastWatering: { daysAgo: 30, amount: 'full' } },
      house: { recent: { nightMin: 12, dayMax: 22, dli: 18 }, tonight: { min: 11, wetHours: 0 } },
    };
    const answer = (await send(service, 'POST', `${at}/try`, { limits, given })).json();
    expect(answer.given.before.amount).not.toBe('none');
    expect(answer.given.after).toMatchObject({ amount: 'none', decidedBy: { table: 'policy', row: 'gap' } });
    const wrong = await send(service, 'POST', `${at}/try`, { limits, given: { ...given, group: 'echeveriaa' } });
    expect([wrong.statusCode, wrong.json().errors[0].pointer]).toEqual([422, '#/given/group']);
  });

  test('is refused like a change, and not made without end', async () => {
    const service = await openService({ limits: { triesPerMinute: 1 } });
    const tried = () => send(service, 'POST', `${at}/try`, { limits: [{ name: 'drink-gap', value: 900 }] });
    expect((await tried()).json().errors).toMatchObject([{ pointer: '#/limits/0/value' }]);
    expect((await tried()).statusCode).toBe(429);
  });
});
