import { describe, expect, it } from 'vitest';
import { LeafturnError } from '../../src/domain/errors.js';
import { forecastFromPush, type Push, parsePushed, pushedForecastSchema } from '../../src/forecast/pushed.js';
import { HOUR_MS, HOUR_NOW, NOW, SITE } from './support.js';

const push: Push = { site: SITE, by: 'Station of the neighbour', receivedAt: NOW, pulledNames: ['weather'] };
const BODY = {
  issuedAt: '2026-06-01T05:30:00Z',
  source: 'Own station',
  hours: [
    { at: '2026-06-01T07:00:00Z', airTempC: 14.5, relHumidityPct: 70, radiationWm2: 210, windMs: 2 },
    { at: HOUR_NOW, airTempC: 13 },
    // On the wall clock of the site, which is two hours ahead of UTC.
    { at: '2026-06-01T10:00', airTempC: null, cloudPct: 40 },
  ],
};
const made = (body: unknown, more: Partial<Push> = {}) =>
  forecastFromPush(pushedForecastSchema.parse(body), { ...push, ...more });
const problemsOf = (work: () => unknown) => {
  try {
    work();
  } catch (error) {
    if (error instanceof LeafturnError) return error.problems;
    throw error;
  }
  return [];
};

it('a pushed forecast becomes one of ours: hours in order, what is not told is not made up', () => {
  expect(made(BODY)).toEqual({
    siteId: 'hill',
    source: 'Own station',
    issuedAt: Date.UTC(2026, 5, 1, 5, 30),
    receivedAt: NOW,
    hours: [
      {
        at: HOUR_NOW,
        airTempC: 13,
        relHumidityPct: null,
        radiationWm2: null,
        cloudPct: null,
        windMs: null,
        rainMm: null,
      },
      {
        at: HOUR_NOW + HOUR_MS,
        airTempC: 14.5,
        relHumidityPct: 70,
        radiationWm2: 210,
        cloudPct: null,
        windMs: 2,
        rainMm: null,
      },
      {
        at: HOUR_NOW + 2 * HOUR_MS,
        airTempC: null,
        relHumidityPct: null,
        radiationWm2: null,
        cloudPct: 40,
        windMs: null,
        rainMm: null,
      },
    ],
  });
});

it('who sends it and the time it came stand in where the body does not say', () => {
  const { hours } = BODY;
  expect(made({ hours })).toMatchObject({ source: 'Station of the neighbour', issuedAt: NOW });
  // A clock that is minutes ahead of ours: the forecast is of now.
  expect(made({ ...BODY, issuedAt: NOW + 5 * 60_000 }).issuedAt).toBe(NOW);
});

describe('what cannot be true is told with its place', () => {
  it.each([
    ['a time to come', { ...BODY, issuedAt: '2026-06-01T08:00:00Z' }, '/issuedAt', 'Set the clock of the sender'],
    ['the name of a service that is asked', { ...BODY, source: 'weather' }, '/source', 'Take another name'],
    ['a time that is none', { hours: [{ at: 'noon', airTempC: 1 }] }, '/hours/0/at', undefined],
    ['a time beyond the calendar', { hours: [{ at: 9e15, airTempC: 1 }] }, '/hours/0/at', undefined],
    ['half hours', { hours: [{ at: '2026-06-01T09:30:00Z', airTempC: 1 }] }, '/hours', 'is no full hour'],
    ['the past', { hours: [{ at: '2026-05-01T09:00:00Z', airTempC: 1 }] }, '/hours', 'holds no hour to come'],
    ['an hour twice', { hours: [BODY.hours[0], BODY.hours[0]] }, '/hours', 'comes twice'],
    ['no temperature', { hours: [{ at: HOUR_NOW, cloudPct: 1 }] }, '/hours', 'holds no air temperature'],
  ])('%s', (_, body, path, mend) => {
    const problems = problemsOf(() => made(body));
    expect(problems).toHaveLength(1);
    expect(problems[0]).toMatchObject({ path, ...(mend && { mend: expect.stringContaining(mend) }) });
  });

  it('two things at once', () => {
    const both = { ...BODY, source: 'weather', issuedAt: '2099-01-01T00:00:00Z' };
    expect(problemsOf(() => made(both)).map(({ path }) => path)).toEqual(['/issuedAt', '/source']);
  });
});

describe('a message', () => {
  const message = (content: unknown) => Buffer.from(JSON.stringify(content));

  it('holds the same body as JSON', () => {
    expect(parsePushed(message(BODY))).toEqual(BODY);
  });

  it('that is not JSON, or no forecast, is refused with everything that is wrong', () => {
    expect(() => parsePushed(Buffer.from('rain later'))).toThrow(
      'The message is not JSON; it begins with "rain later".',
    );
    expect(() => parsePushed(Buffer.from([0xff, 0xfe, 0x00]))).toThrow('The message is not text');
    expect(() => parsePushed(Buffer.alloc(300_000, '['))).toThrow(LeafturnError);
    const wrong = {
      hours: [
        { at: HOUR_NOW, airTempC: 294 },
        { at: HOUR_NOW, airTemp: 12 },
      ],
      isuedAt: NOW,
    };
    expect(problemsOf(() => parsePushed(message(wrong))).map(({ path, mend }) => `${path} ${mend ?? ''}`)).toEqual([
      'hours[0].airTempC ',
      'hours[1].airTemp Did you mean airTempC?',
      'isuedAt Did you mean issuedAt?',
    ]);
  });
});
