import { describe, expect, it } from 'vitest';
import { instantOnDay } from '../../../src/domain/time.js';
import { cloudyNights } from '../../../src/models/alert-kinds/cloudy-nights.js';

/** Middle Germany at the end of October: dark from about 17:00 to 07:00; clocks go back on the 25th. */
const PLACE = { zone: 'Europe/Berlin', latitude: 51, longitude: 10 };
const HOUR = 3_600_000;
const from = instantOnDay(PLACE.zone, '2026-10-24', '12:00');
const hours = (cloudPct: (clockUtc: number, index: number) => number | null, count = 96) =>
  Array.from({ length: count }, (_, index) => ({
    at: from + index * HOUR,
    cloudPct: cloudPct(new Date(from + index * HOUR).getUTCHours(), index),
  }));

describe('cloudy nights', () => {
  it('are those that stay under cloud from dusk to dawn, whatever the day does, also when the clocks go back', () => {
    const days = hours((clock) => (clock >= 7 && clock < 15 ? 0 : 95), 48);
    expect(cloudyNights(days, PLACE, from)).toEqual(['2026-10-25', '2026-10-26']);
  });

  it('one clear hour, or one nobody speaks of, is enough for a clear night', () => {
    expect(
      cloudyNights(
        hours((_, index) => (index === 14 ? 60 : 100), 24),
        PLACE,
        from,
      ),
    ).toEqual([]);
    expect(
      cloudyNights(
        hours((_, index) => (index === 14 ? null : 100), 24),
        PLACE,
        from,
      ),
    ).toEqual([]);
    expect(cloudyNights([], PLACE, from)).toEqual([]);
  });

  it('of the night that is going on only the rest counts', () => {
    const at = instantOnDay(PLACE.zone, '2026-10-25', '04:30');
    const late = hours(() => 100, 24).filter((hour) => hour.at >= at - HOUR);
    expect(cloudyNights(late, PLACE, at)).toEqual(['2026-10-25']);
  });

  it('there are none where the sun does not set', () => {
    const at = Date.UTC(2026, 5, 20, 12);
    const days = Array.from({ length: 96 }, (_, index) => ({ at: at + index * HOUR, cloudPct: 100 }));
    expect(cloudyNights(days, { zone: 'UTC', latitude: 75, longitude: 0 }, at)).toEqual([]);
  });
});
