export const ALERT_KINDS = [
  'hot-spell',
  'frost',
  'wet-night',
  'burn-risk',
  'sensor-silent',
  'sensor-stuck',
  'sensor-implausible',
  'cloth-not-as-advised',
  'list-not-done',
  'disk-low',
] as const;
export type AlertKind = (typeof ALERT_KINDS)[number];

/** These go by the weather of a house. */
export const WEATHER_ALERTS = ['hot-spell', 'frost', 'wet-night', 'burn-risk'] as const satisfies readonly AlertKind[];
export type WeatherAlert = (typeof WEATHER_ALERTS)[number];

/** These are told in quiet hours too. */
export const DANGEROUS_ALERTS: readonly AlertKind[] = ['hot-spell', 'frost', 'burn-risk'];

export const ALERT_STATES = ['pending', 'firing', 'held', 'resolved'] as const;
export type AlertState = (typeof ALERT_STATES)[number];

/** What an alert says to people. All of it plain sentences. */
export interface AlertText {
  readonly title: string;
  readonly reason: string;
  readonly whatToDo: string;
  /** What the measure would buy, e.g. `about 4 °C less at noon, 2 to 6`. */
  readonly buys?: string;
  /** The usual caution where people work in heat, near electricity or with sprays. */
  readonly caution?: string;
}

/** One alert from the day it began to the day it was over. At most one of a kind is open per house (or sensor, or site). */
export interface Alert {
  readonly id: number;
  readonly siteId: string;
  readonly houseId: string | null;
  /** What it is about beside the house: a sensor's name; empty: the house as a whole. */
  readonly subject: string;
  readonly kind: AlertKind;
  readonly state: AlertState;
  /** The worst it came to so far. */
  readonly level?: 'warning' | 'danger';
  readonly text: AlertText;
  /** Batches at risk. */
  readonly batchIds: readonly string[];
  /** 0-1; left out where it is no forecast. */
  readonly probability?: number;
  /** When the danger is expected to begin; left out: now. */
  readonly expectedAt?: number;
  readonly pendingSince: number;
  readonly firedAt?: number;
  readonly resolvedAt?: number;
  readonly acknowledged?: { readonly at: number; readonly by: string };
  readonly snoozedUntil?: number;
  /** How it turned out, once the day is over: what was measured. */
  readonly outcome?: string;
}

/** What happened to an alert. `told` kinds are for people: new (also when it was put off and is still so), worse, over. */
export const ALERT_EVENTS = [
  'new',
  'worse',
  'over',
  'ended',
  'acknowledged',
  'snoozed',
  'unsnoozed',
  'turned-out',
] as const;
export type AlertEventKind = (typeof ALERT_EVENTS)[number];

/** One thing that happened to an alert, with the alert as it was then. Ids rise: the place to go on from. */
export interface AlertEvent {
  readonly id: number;
  readonly siteId: string;
  readonly alertId: number;
  readonly at: number;
  readonly what: AlertEventKind;
  /** Who did it; null: nobody, it came about. */
  readonly by: string | null;
  readonly alert: Alert;
}

/** These are told to people. */
export const isTold = (what: AlertEventKind): what is 'new' | 'worse' | 'over' =>
  what === 'new' || what === 'worse' || what === 'over';
