/** Names in the table `totals`. */

/** Messages taken since the database was made. */
export const MESSAGES = 'messages';
/** Raw readings before this instant, UTC ms, are gone. */
export const PRUNED_BEFORE = 'readings-pruned-before';
/** Events of alerts up to this id were made into messages. */
export const ALERT_EVENTS_TOLD = 'alert-events-told';
