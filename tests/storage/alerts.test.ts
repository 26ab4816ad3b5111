import { join } from 'node:path';
import Database from 'better-sqlite3';
import { beforeEach, describe, expect, it } from 'vitest';
import type { AlertKind } from '../../src/domain/alerts.js';
import type { AlertMachine } from '../../src/models/alert-machine.js';
import { alertOf, type KeptAlert } from '../../src/models/alert-view.js';
import type { AlertStore, NewAlertEvent, StoredAlert } from '../../src/storage/repositories.js';
import { openTemp, T0, tempFolder } from './support.js';

const HOUR = 3_600_000;
const pending = (at: number): AlertMachine => ({
  state: 'pending',
  level: 1,
  toldLevel: 0,
  pendingSince: at,
  countedMs: 0,
  seenAt: at,
  knew: true,
});
const firing = (at: number): AlertMachine => ({ ...pending(at), state: 'firing', toldLevel: 1, firedAt: at });
const over = (from: number, at: number): AlertMachine => ({
  ...firing(from),
  state: 'resolved',
  level: 0,
  resolvedAt: at,
});

const alert = (machine: AlertMachine, more: Partial<KeptAlert> = {}): Omit<KeptAlert, 'id'> => ({
  siteId: 'hill',
  houseId: 'north-house',
  subject: '',
  kind: 'frost',
  machine,
  detail: {
    text: { title: 'Frost', reason: 'It gets cold.', whatToDo: 'Heat.' },
    batchIds: ['stones'],
    probability: 0.6,
  },
  outcome: null,
  ...more,
});
const fired: NewAlertEvent = { at: T0, what: 'new', by: null };

let path: string;
let alerts: AlertStore;
beforeEach(async () => {
  path = join(tempFolder(), 'alerts.db');
  alerts = (await openTemp('UTC', path)).alerts;
});

async function add(kept: Omit<KeptAlert, 'id'>, events: readonly NewAlertEvent[] = []): Promise<StoredAlert> {
  expect(await alerts.save([{ alert: kept, events }])).toBeDefined();
  const all = [...(await alerts.open(kept.siteId)), ...(await alerts.past(kept.siteId, { limit: 100 }))];
  return all.sort((a, b) => b.id - a.id)[0] as StoredAlert;
}

describe('open alerts', () => {
  it('are kept with the state of their machine and what they say', async () => {
    const kept = alert(firing(T0));
    expect(await add(kept, [fired])).toEqual({ ...kept, id: 1, version: 1 });
    expect(await alerts.get(1)).toEqual({ ...kept, id: 1, version: 1 });
    expect(await alerts.get(2)).toBeUndefined();
    expect(await alerts.open('valley')).toEqual([]);
  });

  it('may be about the site as a whole, or a sensor', async () => {
    await add(alert(firing(T0), { houseId: null, kind: 'disk-low' }));
    await add(alert(firing(T0), { subject: 't1', kind: 'sensor-stuck' }));
    expect((await alerts.open('hill')).map(({ houseId, subject }) => [houseId, subject])).toEqual([
      [null, ''],
      ['north-house', 't1'],
    ]);
  });

  it('are at most one of a kind for a house and subject', async () => {
    await add(alert(firing(T0)), [fired]);
    expect(await alerts.save([{ alert: alert(pending(T0 + HOUR)), events: [] }])).toBeUndefined();
    expect(await alerts.open('hill')).toHaveLength(1);
    for (const other of [
      { houseId: 'south' },
      { houseId: null },
      { subject: 't1' },
      { kind: 'wet-night' as AlertKind },
    ])
      await add(alert(firing(T0), other));
    expect(await alerts.open('hill')).toHaveLength(5);
  });

  it('are at most one whoever writes: the database itself refuses a second one', async () => {
    await add(alert(firing(T0)));
    const other = new Database(path);
    const copy = other.prepare(
      `INSERT INTO alerts (site_id, kind, house_id, subject, state, version, machine_json, detail_json)
       SELECT site_id, kind, house_id, subject, state, version, machine_json, detail_json FROM alerts`,
    );
    expect(() => copy.run()).toThrow(/UNIQUE/);
    other.close();
  });

  it('begin again once the last one is over', async () => {
    await add(alert(over(T0, T0 + HOUR)));
    await add(alert(firing(T0 + 2 * HOUR)));
    expect(await alerts.open('hill')).toMatchObject([{ id: 2 }]);
  });

  it('leave nothing behind when they never came to anything', async () => {
    const { id, version } = await add(alert(pending(T0)));
    expect(await alerts.save([{ dropped: { id, version }, events: [] }])).toEqual([]);
    expect(await alerts.open('hill')).toEqual([]);
  });

  it('are not dropped once they fired', async () => {
    const { id, version } = await add(alert(firing(T0)));
    expect(await alerts.save([{ dropped: { id, version }, events: [] }])).toBeUndefined();
    expect(await alerts.open('hill')).toHaveLength(1);
  });
});

describe('a write', () => {
  it('made on a state that is no longer the newest changes nothing, and adds no event', async () => {
    const first = await add(alert(firing(T0)), [fired]);
    const step = { alert: { ...first, machine: over(T0, T0 + HOUR) }, version: first.version };
    const events = [{ at: T0 + HOUR, what: 'over' as const, by: null }];
    expect(await alerts.save([{ ...step, events }])).toMatchObject([{ what: 'over', alert: { state: 'resolved' } }]);
    // The same write again, as after an answer that got lost.
    expect(await alerts.save([{ ...step, events }])).toBeUndefined();
    expect((await alerts.eventsOf(first.id)).map(({ what }) => what)).toEqual(['new', 'over']);
  });

  it('is kept as a whole or not at all', async () => {
    const first = await add(alert(firing(T0)));
    const writes = [
      { alert: alert(firing(T0), { kind: 'wet-night' }), events: [fired] },
      { alert: first, version: first.version + 7, events: [] },
    ];
    expect(await alerts.save(writes)).toBeUndefined();
    expect(await alerts.open('hill')).toHaveLength(1);
    expect(await alerts.lastEventId()).toBe(0);
  });
});

describe('what happened', () => {
  it('is told in order with the alert as it was then, and goes on after any id', async () => {
    const first = await add(alert(firing(T0)), [fired]);
    const seen = { ...first, machine: { ...first.machine, acknowledged: { at: T0 + HOUR, by: 'Ada' } } };
    await alerts.save([
      { alert: seen, version: first.version, events: [{ at: T0 + HOUR, what: 'acknowledged', by: 'Ada' }] },
    ]);
    await add(alert(firing(T0), { siteId: 'valley' }), [fired]);
    const all = await alerts.events({ afterId: 0, limit: 10 });
    expect(all.map(({ id, siteId, what, by }) => [id, siteId, what, by])).toEqual([
      [1, 'hill', 'new', null],
      [2, 'hill', 'acknowledged', 'Ada'],
      [3, 'valley', 'new', null],
    ]);
    expect(all[0]?.alert).toEqual(alertOf(first));
    expect(all[0]?.alert).not.toHaveProperty('acknowledged');
    expect(all[1]?.alert.acknowledged).toEqual({ at: T0 + HOUR, by: 'Ada' });
    expect(await alerts.events({ afterId: 1, limit: 1 })).toMatchObject([{ id: 2 }]);
    expect(await alerts.events({ siteId: 'valley', afterId: 0, limit: 10 })).toMatchObject([{ id: 3 }]);
    expect(await alerts.lastEventId()).toBe(3);
  });

  it('is never changed', async () => {
    await add(alert(firing(T0)), [fired]);
    const other = new Database(path);
    expect(() => other.prepare(`UPDATE alert_events SET what = 'over'`).run()).toThrow(/never changed/);
    other.close();
  });
});

describe('past alerts', () => {
  it('come newest first, page by page, also where many ended at one moment', async () => {
    const ended = [3, 1, 2, 2, 2, 5];
    for (const hour of ended) await add(alert(over(T0, T0 + hour * HOUR)));
    const ids: number[] = [];
    let before: { resolvedAt: number; id: number } | undefined;
    for (;;) {
      const page = await alerts.past('hill', { limit: 2, ...(before && { before }) });
      const last = page.at(-1);
      if (!last) break;
      ids.push(...page.map(({ id }) => id));
      before = { resolvedAt: last.machine.resolvedAt as number, id: last.id };
    }
    expect(ids).toEqual([6, 1, 5, 4, 3, 2]);
  });

  it('wait for their outcome until it is told', async () => {
    const first = await add(alert(over(T0, T0 + HOUR)));
    await add(alert(firing(T0)));
    expect(await alerts.withoutOutcome('hill')).toMatchObject([{ id: first.id }]);
    const told = { ...first, outcome: 'The house fell to 1.2 °C.' };
    const event = { at: T0 + 2 * HOUR, what: 'turned-out' as const, by: null };
    expect(await alerts.save([{ alert: told, version: first.version, events: [event] }])).toMatchObject([
      { alert: { outcome: 'The house fell to 1.2 °C.' } },
    ]);
    expect(await alerts.withoutOutcome('hill')).toEqual([]);
  });
});

it('everything is there again after the database was closed', async () => {
  const kept = await add(alert(firing(T0)), [fired]);
  const again = (await openTemp('UTC', path)).alerts;
  expect(await again.open('hill')).toEqual([kept]);
});
