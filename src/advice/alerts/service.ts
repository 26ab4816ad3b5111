import { type Alert, type AlertEvent, isTold } from '../../domain/alerts.js';
import { LeafturnError } from '../../domain/errors.js';
import { shown } from '../../domain/problems.js';
import type { Site } from '../../domain/site.js';
import { type AlertChange, stepAlerts } from '../../models/alert-book.js';
import { type AlertMachine, acknowledge, hasFired, snooze, unsnooze } from '../../models/alert-machine.js';
import { alertOf } from '../../models/alert-view.js';
import type { AlertWrite, NewAlertEvent, StoredAlert } from '../../storage/repositories.js';
import { createTurns } from '../turns.js';
import { type LookBooks, lookAtSite, newBooks, type SiteLook } from './look.js';
import { outcomeAtOnce, outcomeOf, waitsForWeather } from './outcomes.js';
import type { AlertsParts } from './parts.js';

export interface Alerts {
  /** Looks at a site and steps its alerts, after any look that is going on. */
  evaluate(siteId: string): Promise<void>;
  /** Those people know of and that are not over. */
  open(siteId: string): Promise<Alert[]>;
  /** Those that are over, newest first; `before` continues. */
  past(
    siteId: string,
    query: { readonly before?: { readonly resolvedAt: number; readonly id: number }; readonly limit: number },
  ): Promise<Alert[]>;
  /** @throws LeafturnError `not-found` */
  get(id: number): Promise<Alert>;
  acknowledge(id: number, by: string): Promise<Alert>;
  /** Not to be told again until then, unless it gets worse. @param until UTC ms, at most a week ahead */
  snooze(id: number, by: string, until: number): Promise<Alert>;
  unsnooze(id: number, by: string): Promise<Alert>;
  /** Told of everything that happens, once it is kept. Returns how to stop listening. */
  onEvent(listener: (event: AlertEvent) => void): () => void;
  /** Told of what people are to be told: new, worse, over. Returns how to stop listening. */
  onAlert(listener: (event: AlertEvent) => void): () => void;
}

/** A snooze is no way of switching an alert off. */
export const LONGEST_SNOOZE_MS = 7 * 86_400_000;
/** Somebody else may write in between, but hardly again and again. */
const TRIES = 5;

/** Keeps the alerts of the sites: looks, steps, stores, tells. */
export function createAlerts(parts: AlertsParts): Alerts {
  const store = parts.storage.alerts;
  const listeners = new Set<(event: AlertEvent) => void>();
  const books = new Map<string, LookBooks>();

  const inTurn = createTurns();

  function tell(events: readonly AlertEvent[]): void {
    for (const event of events)
      for (const listener of listeners)
        try {
          listener(event);
        } catch (error) {
          parts.onTrouble?.(error);
        }
  }

  /** Reads, works out what is to be written, writes; anew when somebody else was first. */
  async function write<T>(
    work: () => Promise<{ readonly writes: readonly AlertWrite[]; readonly answer: T }>,
  ): Promise<T> {
    for (let attempt = 0; attempt < TRIES; attempt += 1) {
      const { writes, answer } = await work();
      const events = writes.length === 0 ? [] : await store.save(writes);
      if (events) {
        tell(events);
        return answer;
      }
    }
    throw new LeafturnError('database-busy', 'The alerts were changed by others again and again. Try again.');
  }

  async function evaluate(siteId: string): Promise<void> {
    const site = parts.sites().find(({ id }) => id === siteId);
    if (!site) return;
    const own = books.get(siteId) ?? newBooks();
    books.set(siteId, own);
    const at = parts.now();
    const look = await lookAtSite(parts, site, at, await store.open(siteId), own);
    await write(async () => {
      const open = await store.open(siteId);
      const changes = stepAlerts(open, look.findings, at);
      return { writes: changes.map((change) => writeOf(site, change, at, open)), answer: undefined };
    });
    await tellOutcomes(site, at, look);
  }

  async function tellOutcomes(site: Site, at: number, { weather }: SiteLook): Promise<void> {
    for (const alert of await store.withoutOutcome(site.id)) {
      const house = alert.houseId === null ? undefined : weather.get(alert.houseId);
      const outcome = await outcomeOf(alert, site, at, parts.storage.readings, house);
      if (outcome === undefined) continue;
      const { version, ...kept } = alert;
      const events = await store.save([
        { alert: { ...kept, outcome }, version, events: [{ at, what: 'turned-out', by: null }] },
      ]);
      tell(events ?? []);
    }
  }

  /** What a person does to an alert. */
  async function act(
    id: number,
    event: Omit<NewAlertEvent, 'at'>,
    change: (machine: AlertMachine, at: number) => AlertMachine,
  ): Promise<Alert> {
    const { siteId } = await stored(id);
    return inTurn(siteId, () =>
      write(async () => {
        const { version, ...alert } = await stored(id);
        refuseClosed(alert);
        const at = parts.now();
        const machine = change(alert.machine, at);
        const changed = { ...alert, machine };
        const same = JSON.stringify(machine) === JSON.stringify(alert.machine);
        return {
          writes: same ? [] : [{ alert: changed, version, events: [{ ...event, at }] }],
          answer: alertOf(changed),
        };
      }),
    );
  }

  async function stored(id: number): Promise<StoredAlert> {
    const alert = await store.get(id);
    // What is pending was never told to anybody.
    if (alert && alert.machine.state !== 'pending') return alert;
    throw new LeafturnError('not-found', `There is no alert ${id}.`, [
      { path: '', expected: 'the id of an alert', got: String(id), mend: 'Look it up in the list of alerts.' },
    ]);
  }

  return {
    evaluate: (siteId) => inTurn(siteId, () => evaluate(siteId)),
    open: async (siteId) => (await store.open(siteId)).filter(({ machine }) => hasFired(machine)).map(alertOf),
    past: async (siteId, query) => (await store.past(siteId, query)).map(alertOf),
    get: async (id) => alertOf(await stored(id)),
    acknowledge: (id, by) => act(id, { what: 'acknowledged', by }, (machine, at) => acknowledge(machine, at, by)),
    snooze: (id, by, until) =>
      act(id, { what: 'snoozed', by }, (machine, at) => {
        if (until > at && until <= at + LONGEST_SNOOZE_MS) return snooze(machine, until);
        throw new LeafturnError('invalid-input', 'An alert can be put off for up to a week.', [
          {
            path: '/until',
            expected: `an instant between now and ${new Date(at + LONGEST_SNOOZE_MS).toISOString()}`,
            got: shown(Number.isFinite(until) ? new Date(until).toISOString() : until),
          },
        ]);
      }),
    unsnooze: (id, by) => act(id, { what: 'unsnoozed', by }, unsnooze),
    onEvent(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    onAlert(listener) {
      const told = (event: AlertEvent): void => {
        if (isTold(event.what)) listener(event);
      };
      listeners.add(told);
      return () => listeners.delete(told);
    },
  };
}

function refuseClosed({ machine, id }: Pick<StoredAlert, 'machine' | 'id'>): void {
  if (hasFired(machine)) return;
  throw new LeafturnError('conflict', `The alert ${id} is over.`, [
    { path: '', expected: 'an alert that is not over', got: 'one that is', mend: 'Nothing needs to be done about it.' },
  ]);
}

function writeOf(
  { id: siteId, zone }: Site,
  { before, after, tell, gone }: AlertChange,
  at: number,
  open: readonly StoredAlert[],
): AlertWrite {
  const known = before && open.find((alert) => alert === before);
  if (after === undefined) {
    if (known === undefined) throw new Error('An alert that never was cannot be dropped.');
    return { dropped: { id: known.id, version: known.version }, events: [] };
  }
  const what = tell ?? (gone ? 'ended' : null);
  const events: NewAlertEvent[] = what === null ? [] : [{ at, what, by: null }];
  const isOver = after.machine.state === 'resolved';
  const outcome = isOver && (gone || !waitsForWeather(after)) ? outcomeAtOnce(after, zone, gone) : null;
  const { kind, houseId, subject, machine, detail } = after;
  const alert = { siteId, kind, houseId, subject, machine, detail, outcome };
  return known === undefined
    ? { alert, events }
    : { alert: { ...alert, id: known.id }, version: known.version, events };
}
