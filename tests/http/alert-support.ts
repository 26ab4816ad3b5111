import type { AlertKind } from '../../src/domain/alerts.js';
import type { AlertMachine } from '../../src/models/alert-machine.js';
import type { NewAlertEvent } from '../../src/storage/repositories.js';
import type { Service } from './support.js';

export const firing = (at: number, more: Partial<AlertMachine> = {}): AlertMachine => ({
  state: 'firing',
  level: 1,
  toldLevel: 1,
  pendingSince: at,
  firedAt: at,
  countedMs: 0,
  seenAt: at,
  knew: true,
  ...more,
});

interface Kept {
  readonly kind?: AlertKind;
  readonly siteId?: string;
  readonly machine?: AlertMachine;
  readonly outcome?: string;
}

/** An alert as the service keeps it. */
export async function keep(
  { garden }: Service,
  { kind = 'frost', siteId = 'home', machine, outcome }: Kept = {},
): Promise<number> {
  const events: NewAlertEvent[] = [{ at: garden.now, what: 'new', by: null }];
  const alert = {
    siteId,
    houseId: 'north',
    subject: '',
    kind,
    machine: machine ?? firing(garden.now),
    detail: {
      text: { title: 'Frost coming', reason: 'Cold.', whatToDo: 'Heat.' },
      batchIds: ['stones'],
      probability: 0.7,
    },
    outcome: outcome ?? null,
  };
  const saved = await garden.storage.alerts.save([{ alert, events }]);
  return saved?.[0]?.alertId ?? 0;
}
