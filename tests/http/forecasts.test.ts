import { describe, expect, it } from 'vitest';
import { HOUR, START } from '../support/garden.js';
import { newKey, openService } from './support.js';

const hoursFrom = (first: number, count: number, airTempC = 6) =>
  Array.from({ length: count }, (_, after) => ({ at: first + after * HOUR, airTempC }));
const body = (more: object = {}) => ({ source: 'Own station', hours: hoursFrom(START, 48), ...more });
const FORECASTS = '/sites/home/forecasts';
const LATEST = `${FORECASTS}/latest`;

describe('handing over', () => {
  it('keeps the forecast, and it is the one in use', async () => {
    const service = await openService();
    const answer = await service.post(FORECASTS, body());
    expect(answer.statusCode).toBe(201);
    const head = { siteId: 'home', source: 'Own station', issuedAt: START, receivedAt: START };
    expect(answer.json()).toEqual({ outcome: 'kept', ...head, hours: 48 });
    const latest = await service.get(LATEST);
    expect(latest.json()).toMatchObject({ state: 'fresh', trouble: null, forecast: head });
    expect(latest.json().forecast.hours[1]).toEqual({
      at: START + HOUR,
      airTempC: 6,
      relHumidityPct: null,
      radiationWm2: null,
      cloudPct: null,
      windMs: null,
      rainMm: null,
    });
    expect((await service.get(LATEST, { headers: { 'if-none-match': String(latest.headers.etag) } })).statusCode).toBe(
      304,
    );
  });

  it('may be put as well as posted, under the name of who sends it', async () => {
    const service = await openService();
    const answer = await service.app.inject({
      method: 'PUT',
      url: `/api/v1${FORECASTS}`,
      headers: { 'idempotency-key': newKey() },
      payload: { hours: hoursFrom(START, 3) },
    });
    expect(answer.json()).toMatchObject({ outcome: 'kept', source: 'this machine', hours: 3 });
  });

  it('sent again with its key it is answered the same; with another key it is known', async () => {
    const service = await openService();
    const headers = { 'idempotency-key': 'once' };
    const first = await service.post(FORECASTS, body(), { headers });
    const again = await service.post(FORECASTS, body(), { headers });
    expect(again.headers['idempotency-replayed']).toBe('true');
    expect(again.json()).toEqual(first.json());
    expect((await service.post(FORECASTS, body())).json().outcome).toBe('known');
    expect(await service.garden.storage.forecasts.range('home', { from: 0, to: START + HOUR })).toHaveLength(1);
  });

  it('needs a key, a site and the role staff', async () => {
    const service = await openService({ tokens: { see: 'read', hand: 'staff' } });
    const by = (token: string) => ({ headers: { authorization: `Bearer ${token}` } });
    expect((await service.post(FORECASTS, body())).statusCode).toBe(401);
    expect((await service.post(FORECASTS, body(), by('see'))).statusCode).toBe(403);
    expect((await service.post(FORECASTS, body(), by('hand'))).statusCode).toBe(201);
    expect((await service.get(LATEST, by('see'))).statusCode).toBe(200);
    const open = await openService();
    const keyless = await open.app.inject({ method: 'POST', url: `/api/v1${FORECASTS}`, payload: body() });
    expect(keyless.json().type).toMatch(/idempotency-key-missing$/);
    expect((await open.post('/sites/hoem/forecasts', body())).json().detail).toContain('Did you mean home?');
  });
});

describe('bad input', () => {
  it('is told field by field', async () => {
    const service = await openService();
    const answer = await service.post(FORECASTS, {
      hours: [{ at: START, airTempC: 294 }, { at: START + HOUR, airtempC: 5 }, { airTempC: 5 }],
      isuedAt: START,
    });
    expect(answer.statusCode).toBe(400);
    expect(answer.headers['content-type']).toContain('application/problem+json');
    const errors: { pointer: string; detail: string }[] = answer.json().errors;
    expect(errors.map(({ pointer }) => pointer)).toEqual([
      '#/hours/0/airTempC',
      '#/hours/1/airtempC',
      '#/hours/2/at',
      '#/isuedAt',
    ]);
    expect(errors[0]?.detail).toBe('/hours/0/airTempC: expected at most 57, got 294.');
    expect(errors[1]?.detail).toContain('Did you mean airTempC?');
  });

  it('that is in good form but cannot be true points at the field too', async () => {
    const service = await openService();
    const post = async (more: object) => {
      const answer = await service.post(FORECASTS, body(more));
      return [answer.statusCode, answer.json().errors?.[0]?.pointer, answer.json().errors?.[0]?.detail];
    };
    expect(await post({ issuedAt: START + HOUR })).toEqual([
      422,
      '#/issuedAt',
      expect.stringContaining('a time that has come'),
    ]);
    expect(await post({ hours: hoursFrom(START - 90 * HOUR, 24) })).toEqual([
      422,
      '#/hours',
      expect.stringContaining('It holds no hour to come'),
    ]);
    expect(await post({ hours: hoursFrom(START + HOUR / 2, 4) })).toEqual([
      422,
      '#/hours',
      expect.stringContaining('no full hour'),
    ]);
  });

  it('another forecast under an issue that is kept is refused', async () => {
    const service = await openService();
    await service.post(FORECASTS, body({ issuedAt: START - HOUR }));
    const answer = await service.post(FORECASTS, body({ issuedAt: START - HOUR, hours: hoursFrom(START, 48, 9) }));
    expect([answer.statusCode, answer.json().errors[0].pointer]).toEqual([409, '#/issuedAt']);
    expect(answer.json().errors[0].detail).toContain('Send a corrected forecast with a later issuedAt');
  });
});

describe('looking', () => {
  it('says so when there is none, and when it is too old to be used', async () => {
    const service = await openService();
    expect((await service.get(LATEST)).json()).toEqual({
      forecast: null,
      state: 'not-set-up',
      trouble: null,
      troubleAt: null,
    });
    await service.post(FORECASTS, body());
    service.garden.now += 37 * HOUR;
    expect((await service.get(LATEST)).json()).toMatchObject({ forecast: null, state: 'too-old' });
  });

  it('a site sees its own', async () => {
    const service = await openService();
    await service.post(FORECASTS, body());
    expect((await service.get('/sites/far/forecasts/latest')).json().forecast).toBeNull();
  });
});
