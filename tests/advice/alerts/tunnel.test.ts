import { describe, expect, it, onTestFinished } from 'vitest';
import { gatherSensors } from '../../../src/advice/alerts/gather-sensors.js';
import { createAlerts } from '../../../src/advice/alerts/service.js';
import type { AlertEvent, AlertKind } from '../../../src/domain/alerts.js';
import { foldCollection } from '../../../src/domain/collection.js';
import { instantOnDay, type LocalDay } from '../../../src/domain/time.js';
import { implausibleSensors } from '../../../src/models/alert-kinds/sensor-implausible.js';
import { stuckSensors } from '../../../src/models/alert-kinds/sensor-stuck.js';
import type { Storage } from '../../../src/storage/repositories.js';
import { openSqliteStorage } from '../../../src/storage/sqlite.js';
import { CATALOGUE } from '../../support/nursery.js';
import { sharedData } from '../../support/shared-data.js';
import { TUNNEL_SITE, type TunnelDay, tunnelDays } from './tunnel.js';

/*
 * A real record of eighteen months: 15-minute readings of an unheated tunnel in Italy (open data, GPL-3.0). Its light
 * changes from kilolux to lux on 4 May 2022, and channels stand still for weeks. Everything is told walk-forward: a day
 * knows nothing of the days after it.
 */
const path = sharedData('feeds/unheated-tunnel_15min.csv.gz');
const CLOCKS = ['08:00', '13:00', '20:00'] as const;

async function open(): Promise<Storage> {
  const storage = await openSqliteStorage({ path: ':memory:', zoneOf: () => TUNNEL_SITE.zone });
  onTestFinished(() => storage.close());
  return storage;
}

async function hear(storage: Storage, { readings, refusals }: TunnelDay, after: number, upTo: number): Promise<void> {
  const isNew = ({ at }: { readonly at: number }) => at > after && at <= upTo;
  const heard = { readings: readings.filter(isNew), refusals: refusals.filter(isNew) };
  await storage.readings.commit({ ...heard, messages: heard.readings.length + heard.refusals.length });
}

interface Notice {
  readonly day: LocalDay;
  readonly kind: AlertKind;
  readonly reason: string;
}

/** What is doubted three times a day, over all days. */
async function notices(days: readonly TunnelDay[]): Promise<Notice[]> {
  const storage = await open();
  const parts = { storage, alertLimits: () => ({}) } as unknown as Parameters<typeof gatherSensors>[0];
  const found: Notice[] = [];
  for (const day of days) {
    let last = 0;
    for (const clock of CLOCKS) {
      const at = instantOnDay(TUNNEL_SITE.zone, day.day, clock);
      await hear(storage, day, last, at);
      last = at;
      const site = await gatherSensors(parts, TUNNEL_SITE, at, await storage.readings.series({ siteId: 'italy' }));
      for (const finding of [...stuckSensors(site), ...implausibleSensors(site)])
        if (finding.known === true && finding.level !== 0)
          found.push({ day: day.day, kind: finding.kind, reason: finding.detail.text.reason });
    }
    await hear(storage, day, last, Number.POSITIVE_INFINITY);
  }
  return found;
}

const firstOf = (found: readonly Notice[], words: RegExp, from: LocalDay) =>
  found.find(({ day, reason }) => day >= from && words.test(reason));

describe.skipIf(path === undefined)('a tunnel in Italy', () => {
  it('the channels that stand still and the change of unit are noticed the day they happen, and said in words', async () => {
    const found = await notices(tunnelDays(path as string, 1));

    // Moisture reads 19 from 17 November 2021 on; a moisture sensor may stand still for three days.
    expect(firstOf(found, /substrate moisture has stood/, '2021-11-17')).toEqual({
      day: '2021-11-20',
      kind: 'sensor-stuck',
      reason:
        'Its substrate moisture has stood at exactly 19 % by volume for 3 days; a working sensor changes within 3 days.',
    });
    // Humidity reads 100 from noon of 27 December on, through days of 4 to 15 °C.
    expect(firstOf(found, /relative humidity has stood/, '2021-06-01')).toMatchObject({ day: '2021-12-29' });
    expect(firstOf(found, /relative humidity has stood/, '2021-06-01')?.reason).toContain(
      'Its relative humidity has stood at exactly 100 % for 2 days, while the air went up and down by 10 °C',
    );
    // Light and substrate temperature read 0 from the evening of 12 April 2022 to 27 April.
    expect(firstOf(found, /light \(lux\) has stood/, '2021-06-01')).toMatchObject({
      day: '2022-04-13',
      kind: 'sensor-stuck',
      reason: 'Its light (lux) has stood at exactly 0 lx for 20 hours, though the sun stood 55° high.',
    });
    expect(firstOf(found, /substrate temperature has stood at exactly 0 °C/, '2021-06-01')).toMatchObject({
      day: '2022-04-13',
    });
    expect(found.filter(({ reason }) => /at exactly 0 (lx|°C)/.test(reason)).at(-1)?.day).toBe('2022-04-27');

    const unit = found.filter(({ kind }) => kind === 'sensor-implausible');
    expect(unit[0]).toMatchObject({
      day: '2022-05-04',
      reason:
        'Since 4 May its light (lux) is about 110 times higher than before: up to 9270 lx, on the days before up to 82 lx. No weather does that.',
    });
    // In the evening of the day the factor is told.
    expect(unit.findLast(({ day }) => day === '2022-05-04')?.reason).toBe(
      'Since 4 May its light (lux) is about 960 times higher than before: up to 78400 lx, on the days before up to 82 lx. It looks as if its unit was changed (a thousandfold, as between kilolux and lux, or kilo and plain units).',
    );
    // Told for some two weeks, until the new unit is all there is; and nothing else in eighteen months is doubted so.
    expect(unit.at(-1)?.day).toBe('2022-05-16');
    expect(new Set(unit.map(({ reason }) => reason.slice(0, 28)))).toEqual(new Set(['Since 4 May its light (lux) ']));
  }, 120_000);

  it('where the mapping says kilolux, the readings are refused and that is told', async () => {
    const days = tunnelDays(path as string, 1000).filter(({ day }) => day >= '2022-04-28' && day <= '2022-05-06');
    const found = await notices(days);
    expect(found[0]).toMatchObject({ day: '2022-05-04', kind: 'sensor-implausible' });
    expect(found[0]?.reason).toMatch(
      /^\d+ of its last \d+ readings could not be true and were not kept\. The last one: Light \(lux\): expected 0 to 200000 lx, got \d+ lx\.$/,
    );
  }, 60_000);

  it('the running service tells of the unit once, on the day', async () => {
    const storage = await open();
    let now = 0;
    const days = tunnelDays(path as string, 1).filter(({ day }) => day >= '2022-04-28' && day <= '2022-05-05');
    const alerts = createAlerts({
      storage,
      keeper: { collection: async () => foldCollection([]) },
      rounds: { today: () => '2022-05-04', latest: async () => undefined },
      sites: () => [TUNNEL_SITE],
      catalogue: () => CATALOGUE,
      alertLimits: () => ({}),
      now: () => now,
    });
    const from = instantOnDay(TUNNEL_SITE.zone, '2022-05-03', '18:00');
    const told: AlertEvent[] = [];
    alerts.onAlert((event) => told.push(event));
    for (const day of days) {
      let last = now;
      for (let hour = 1; hour < 24; hour += 1)
        for (const minute of ['00', '15', '30', '45']) {
          now = instantOnDay(TUNNEL_SITE.zone, day.day, `${String(hour).padStart(2, '0')}:${minute}`);
          await hear(storage, day, last, now);
          last = now;
          if (now >= from) await alerts.evaluate('italy');
        }
    }
    const unit = told.filter(({ alert }) => alert.kind === 'sensor-implausible');
    expect(unit.map(({ what }) => what)).toEqual(['new']);
    expect(unit[0]?.at).toBeGreaterThan(instantOnDay(TUNNEL_SITE.zone, '2022-05-04', '05:00'));
    expect(unit[0]?.at).toBeLessThan(instantOnDay(TUNNEL_SITE.zone, '2022-05-04', '09:00'));
    expect(unit[0]?.alert.text.title).toBe('Sensor mast in Tunnel: light (lux) cannot be right');
    const [doubt] = (await alerts.open('italy')).filter(({ kind }) => kind === 'sensor-implausible');
    expect(doubt?.text.reason).toContain('It looks as if its unit was changed');
  }, 120_000);
});
