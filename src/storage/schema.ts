import type { ColumnType, Generated } from 'kysely';

/**
 * The tables as the queries see them. Instants are UTC milliseconds, days are ISO dates, texts named `...Json` hold
 * JSON. What each table is for stands in the migrations.
 */
export interface Tables {
  series: SeriesTable;
  series_state: SeriesStateTable;
  readings: ReadingsTable;
  hourly: HourlyTable;
  daily: DailyTable;
  totals: TotalsTable;
  refusals: RefusalsTable;
  refusal_counts: RefusalCountsTable;
  journal: JournalTable;
  journal_batch: JournalBatchTable;
  rounds: RoundsTable;
  house_settings: HouseSettingsTable;
  forecasts: ForecastsTable;
  forecast_pulls: ForecastPullsTable;
  alerts: AlertsTable;
  alert_events: AlertEventsTable;
  deliveries: DeliveriesTable;
  channels: ChannelsTable;
  idempotency: IdempotencyTable;
  access_tokens: AccessTokensTable;
}

export interface SeriesTable {
  id: Generated<number>;
  site_id: string;
  sensor_id: string;
  quantity: string;
  house_id: string | null;
  bench_id: string | null;
  placement: string;
}

/** The hour and the local day the newest reading falls in live here until the next one begins. */
export interface SeriesStateTable {
  series_id: number;
  last_at: number;
  last_value: number;
  last_received_at: number;
  stored: number;
  duplicates: number;
  hour_start: number;
  hour_count: number;
  hour_min: number | null;
  hour_max: number | null;
  hour_sum: number;
  hour_integral: number;
  hour_covered_ms: number;
  day: string;
  day_start: number;
  day_end: number;
  day_count: number;
  day_min: number | null;
  day_max: number | null;
  day_sum: number;
  day_integral: number;
  day_covered_ms: number;
}

export interface ReadingsTable {
  slot: number;
  series_id: number;
  at: number;
  value: number;
  flag_mask: number;
}

interface RollUpColumns {
  series_id: number;
  start_ms: number;
  count: number;
  min: number | null;
  max: number | null;
  sum: number;
  integral: number;
  covered_ms: number;
}
export type HourlyTable = RollUpColumns;
export interface DailyTable extends RollUpColumns {
  day: string;
}

export interface TotalsTable {
  name: string;
  value: number;
}

export interface RefusalsTable {
  id: Generated<number>;
  at: number;
  topic: string;
  site_id: string | null;
  sensor_id: string | null;
  quantity: string | null;
  reason: string;
  sentence: string;
  excerpt: string;
}

/** An empty text stands for "not known": a key column cannot be null. */
export interface RefusalCountsTable {
  site_id: string;
  sensor_id: string;
  quantity: string;
  reason: string;
  count: number;
  last_at: number;
  last_sentence: string;
}

export interface JournalTable {
  id: Generated<number>;
  site_id: string;
  kind: string;
  happened_at: number;
  entered_at: number;
  entered_by: string;
  event_json: string;
  note: string | null;
  request_key: string | null;
}

export interface JournalBatchTable {
  site_id: string;
  batch_id: string;
  entry_id: number;
}

type Blob = ColumnType<Uint8Array, Uint8Array, never>;

export interface RoundsTable {
  id: Generated<number>;
  site_id: string;
  day: string;
  revision: number;
  made_at: number;
  round_deflated: Blob;
  facts_deflated: Blob;
}

export interface ForecastsTable {
  id: Generated<number>;
  site_id: string;
  source: string;
  issued_at: number;
  received_at: number;
  hours_deflated: Blob;
}

export interface ForecastPullsTable {
  site_id: string;
  source: string;
  asked_as: string;
  next_at: number;
  answered_at: number | null;
  last_modified: string | null;
  etag: string | null;
  failures: number;
  trouble: string | null;
  trouble_at: number | null;
}

/** An empty house is the site as a whole. */
export interface AlertsTable {
  id: Generated<number>;
  site_id: string;
  kind: string;
  house_id: string;
  subject: string;
  state: string;
  version: number;
  machine_json: string;
  detail_json: string;
  resolved_at: number | null;
  outcome: string | null;
}

export interface AlertEventsTable {
  id: Generated<number>;
  site_id: string;
  alert_id: number;
  at: number;
  what: string;
  done_by: string | null;
  alert_json: string;
}

export interface DeliveriesTable {
  id: Generated<number>;
  channel: string;
  recipient: string;
  site_id: string;
  state: string;
  held: number;
  tries: number;
  next_at: number;
  created_at: number;
  ended_at: number | null;
  trouble: string | null;
  trouble_at: number | null;
  message_json: string;
}

export interface ChannelsTable {
  name: string;
  last_sent_at: number | null;
  last_trouble: string | null;
  last_trouble_at: number | null;
}

export interface HouseSettingsTable {
  site_id: string;
  house_id: string;
  revision: number;
  at: number;
  entered_by: string;
  why: string;
  settings_json: string;
}

export interface IdempotencyTable {
  key: string;
  request_hash: string;
  begun_at: number;
  status: number | null;
  body: string | null;
}

export interface AccessTokensTable {
  id: Generated<number>;
  name: string;
  role: 'read' | 'staff' | 'owner';
  token_hash: string;
  created_at: number;
  revoked_at: number | null;
}
