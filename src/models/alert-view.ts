import type { Alert } from '../domain/alerts.js';
import { defined } from '../domain/optional.js';
import type { OpenAlert } from './alert-book.js';

/** An alert as it is kept. */
export interface KeptAlert extends OpenAlert {
  readonly id: number;
  readonly siteId: string;
  /** How it turned out; null: not told yet. */
  readonly outcome: string | null;
}

/** An alert as people and other programs get it. */
export function alertOf({ id, siteId, houseId, subject, kind, machine, detail, outcome }: KeptAlert): Alert {
  return {
    id,
    siteId,
    houseId,
    subject,
    kind,
    state: machine.state,
    // Worse than was told is told at once, so what was told is how bad it came to be.
    level: machine.toldLevel === 2 ? 'danger' : 'warning',
    text: detail.text,
    batchIds: detail.batchIds,
    pendingSince: machine.pendingSince,
    ...defined({
      probability: detail.probability,
      expectedAt: detail.expectedAt,
      firedAt: machine.firedAt,
      resolvedAt: machine.resolvedAt,
      acknowledged: machine.acknowledged,
      snoozedUntil: machine.snoozedUntil,
      outcome: outcome ?? undefined,
    }),
  };
}
