import { type Quantity, quantityInfo, type RollUp } from '../../src/domain/quantities.js';
import type { CheckedReading } from '../../src/storage/repositories.js';

export interface Span {
  readonly startMs: number;
  readonly endMs: number;
}

/**
 * Roll-ups by the definition and nothing else: all readings at hand, sorted, every bucket asked for every line. Slow and
 * without memory, so that it cannot share a mistake with the code that keeps roll-ups up to date.
 */
export function rollUpsByDefinition(readings: readonly CheckedReading[], spans: readonly Span[]): RollUp[] {
  const once = new Map<number, CheckedReading>();
  for (const reading of readings) if (!once.has(reading.at)) once.set(reading.at, reading);
  const points = [...once.values()].sort((a, b) => a.at - b.at);
  const holdMs = quantityInfo(points[0]?.quantity as Quantity).holdMinutes * 60_000;
  const found: RollUp[] = [];
  for (const { startMs, endMs } of spans) {
    const values = points.filter((point) => point.at >= startMs && point.at < endMs).map((point) => point.value);
    let integral = 0;
    let coveredMs = 0;
    for (let index = 1; index < points.length; index += 1) {
      const a = points[index - 1] as CheckedReading;
      const b = points[index] as CheckedReading;
      const from = Math.max(a.at, startMs);
      const to = Math.min(b.at, endMs);
      if (b.at - a.at > holdMs || to <= from) continue;
      const valueAt = (at: number): number => (a.value * (b.at - at) + b.value * (at - a.at)) / (b.at - a.at);
      integral += ((valueAt(from) + valueAt(to)) / 2) * ((to - from) / 1000);
      coveredMs += to - from;
    }
    if (values.length === 0 && coveredMs === 0) continue;
    const between = (integral / coveredMs) * 1000;
    found.push({
      startMs,
      count: values.length,
      min: values.length > 0 ? Math.min(...values) : between,
      max: values.length > 0 ? Math.max(...values) : between,
      mean: values.length > 0 ? values.reduce((sum, value) => sum + value, 0) / values.length : between,
      integral,
      coveredSeconds: coveredMs / 1000,
    });
  }
  return found;
}
