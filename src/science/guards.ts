/**
 * Guards of the physics. A NaN that slips into one formula turns every later number into NaN without a trace, and
 * NaN fails every comparison, so each guard is written as "not inside the range" and never as "outside the range".
 */

/** The closed range a quantity may lie in; an open end is written as an infinity. */
export interface PhysicsBounds {
  readonly min: number;
  readonly max: number;
}

/** A number a formula is not valid for. Carries what it was, so that a caller can say it in a grower's words. */
export class PhysicsRangeError extends RangeError {
  override readonly name = 'PhysicsRangeError';
  readonly quantity: string;
  readonly value: number;
  readonly unit: string;
  readonly bounds: PhysicsBounds;

  constructor(quantity: string, value: number, unit: string, bounds: PhysicsBounds) {
    super(
      `${quantity} must be ${describeBounds(bounds, unit)}, but ${String(value)} came. ` +
        'Check the sensor or the conversion that supplied it.',
    );
    this.quantity = quantity;
    this.value = value;
    this.unit = unit;
    this.bounds = bounds;
  }
}

function describeBounds({ min, max }: PhysicsBounds, unit: string): string {
  const suffix = unit === '' ? '' : ` ${unit}`;
  const openBelow = min === Number.NEGATIVE_INFINITY;
  if (max === Number.POSITIVE_INFINITY) {
    if (openBelow) return unit === '' ? 'a finite number' : `a finite number in ${unit}`;
    return min === Number.MIN_VALUE ? `a number above 0${suffix}` : `a number of at least ${min}${suffix}`;
  }
  if (openBelow) return `a number of at most ${max}${suffix}`;
  return min === Number.MIN_VALUE
    ? `a number above 0 up to ${max}${suffix}`
    : `a number from ${min} to ${max}${suffix}`;
}

/**
 * Returns the value when it is a finite number in [min, max].
 * @throws PhysicsRangeError for NaN, an infinity, or a value outside.
 */
export function requireInRange(quantity: string, value: number, unit: string, min: number, max: number): number {
  if (!(value >= min && value <= max && Number.isFinite(value))) {
    throw new PhysicsRangeError(quantity, value, unit, { min, max });
  }
  return value;
}

/**
 * Returns the value when it is a finite number.
 * @throws PhysicsRangeError for NaN or an infinity.
 */
export function requireFinite(quantity: string, value: number, unit: string): number {
  return requireInRange(quantity, value, unit, Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY);
}

/**
 * Returns the value when it is a finite number of at least zero.
 * @throws PhysicsRangeError for NaN, an infinity, or a negative value.
 */
export function requireNotNegative(quantity: string, value: number, unit: string): number {
  return requireInRange(quantity, value, unit, 0, Number.POSITIVE_INFINITY);
}

/**
 * Returns the value when it is a finite number above zero.
 * @throws PhysicsRangeError for NaN, an infinity, zero or less.
 */
export function requirePositive(quantity: string, value: number, unit: string): number {
  return requireInRange(quantity, value, unit, Number.MIN_VALUE, Number.POSITIVE_INFINITY);
}

/**
 * Returns the instant when a JavaScript Date can hold it.
 * @throws PhysicsRangeError for NaN or beyond +-8.64e15 ms (ECMA-262, time values).
 */
export function requireInstant(quantity: string, valueMs: number): number {
  return requireInRange(quantity, valueMs, 'ms', -8.64e15, 8.64e15);
}

/**
 * The two extremes of a day, checked together: a maximum below the minimum is two columns mixed up.
 * @throws PhysicsRangeError for NaN, outside -60 to 100 °C, or when the minimum is above the maximum.
 */
export function requireDayExtremes(airTempMinC: number, airTempMaxC: number): void {
  requireTemperature('airTempMinC', airTempMinC);
  requireInRange('airTempMaxC', airTempMaxC, '°C', airTempMinC, 100);
}

/** Latitude, degrees north. @throws PhysicsRangeError outside -90 to 90. */
export function requireLatitude(latitudeDeg: number): number {
  return requireInRange('latitudeDeg', latitudeDeg, 'degrees', -90, 90);
}

/** Longitude, degrees east. @throws PhysicsRangeError outside -180 to 180. */
export function requireLongitude(longitudeDeg: number): number {
  return requireInRange('longitudeDeg', longitudeDeg, 'degrees', -180, 180);
}

/** Relative humidity, % over water. @throws PhysicsRangeError outside 0 to 100: clamp a sensor first. */
export function requireRelHumidity(relHumidityPct: number): number {
  return requireInRange('relHumidityPct', relHumidityPct, '%', 0, 100);
}

/**
 * Air or leaf temperature, °C.
 * -60 to 100 is the span in which the saturation formula stays physical; thermometers in the sun have shown 71 °C.
 * @throws PhysicsRangeError outside.
 */
export function requireTemperature(quantity: string, tempC: number): number {
  return requireInRange(quantity, tempC, '°C', -60, 100);
}

/** Limits a number to [min, max]. Only for a quantity already known to be a number. */
export function clamp(value: number, min: number, max: number): number {
  return Math.min(max, Math.max(min, value));
}
