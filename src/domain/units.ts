import type { Quantity } from './quantities.js';

/** canonical = value × factor + offset */
export interface UnitConversion {
  readonly factor: number;
  readonly offset: number;
}

const times = (factor: number): UnitConversion => ({ factor, offset: 0 });
const SAME = times(1);

/**
 * Accepted units of each quantity and the way to its canonical unit. Light is never converted between lux, W/m² and
 * µmol: the factor depends on the lamp or the sky, so the three stay three quantities.
 */
const TEMPERATURE: Record<string, UnitConversion> = {
  '°C': SAME,
  '°F': { factor: 5 / 9, offset: -160 / 9 },
  K: { factor: 1, offset: -273.15 },
};
const SHARE: Record<string, UnitConversion> = { '%': SAME, fraction: times(100) };

const UNITS: Record<Quantity, Record<string, UnitConversion>> = {
  airTempC: TEMPERATURE,
  substrateTempC: TEMPERATURE,
  relHumidityPct: SHARE,
  substrateMoisturePct: SHARE,
  ventPct: SHARE,
  screenPct: SHARE,
  batteryPct: SHARE,
  radiationWm2: { 'W/m²': SAME, 'kW/m²': times(1000) },
  ppfdUmol: { 'µmol/m²/s': SAME },
  illuminanceLux: { lx: SAME, klx: times(1000) },
  // 1 S/m = 10 mS/cm, 1 dS/m = 1 mS/cm.
  substrateEcMsCm: { 'mS/cm': SAME, 'dS/m': SAME, 'µS/cm': times(0.001), 'S/m': times(10), 'mS/m': times(0.01) },
  ph: { pH: SAME },
  potWeightG: { g: SAME, kg: times(1000), mg: times(0.001) },
  co2Ppm: { ppm: SAME, '%': times(10_000) },
  pressureHpa: { hPa: SAME, Pa: times(0.01), kPa: times(10), bar: times(1000) },
  // International knot and mile per hour, exact by definition.
  windMs: { 'm/s': SAME, 'km/h': times(1 / 3.6), kn: times(1852 / 3600), mph: times(0.44704) },
  flowLPerMinute: { 'L/min': SAME, 'L/s': times(60), 'L/h': times(1 / 60), 'm³/h': times(1000 / 60) },
};

/** Other spellings of the same unit. Exact spelling is tried first, because case can matter (mS and MS). */
const SPELLINGS: Record<string, readonly string[]> = {
  '°C': ['C', 'Cel', 'celsius', 'degC', 'deg C', '℃', 'ºC'],
  '°F': ['F', 'fahrenheit', 'degF', 'deg F', '℉', 'ºF'],
  K: ['kelvin'],
  '%': ['%RH', '%rH', 'percent', 'pct', '% by volume', '%vol', 'vol%', '%EL'],
  fraction: ['ratio', '1', '/', 'm³/m³', 'm3/m3'],
  'W/m²': ['W/m2', 'W m-2', 'W m⁻²', 'W.m-2', 'W/m^2'],
  'kW/m²': ['kW/m2', 'kW m-2', 'kW m⁻²', 'kW/m^2'],
  'µmol/m²/s': [
    'μmol/m²/s',
    'umol/m2/s',
    'µmol/m2/s',
    'μmol/m2/s',
    'umol/m²/s',
    'umol.m-2.s-1',
    'µmol.m-2.s-1',
    'umol m-2 s-1',
    'µmol m-2 s-1',
    'µmol m⁻² s⁻¹',
    'μmol m⁻² s⁻¹',
    'umol/(m2 s)',
    'umol/m^2/s',
    'µmol/(m²·s)',
  ],
  lx: ['lux', 'lm/m2', 'lm/m²'],
  klx: ['klux'],
  'mS/cm': ['mS cm-1', 'mS cm⁻¹'],
  'dS/m': ['dS m-1', 'dS m⁻¹'],
  'µS/cm': ['uS/cm', 'μS/cm'],
  ppm: ['µmol/mol', 'umol/mol', 'μmol/mol'],
  hPa: ['mbar', 'mb'],
  Pa: ['pascal'],
  'm/s': ['m s-1', 'm s⁻¹', 'mps'],
  'km/h': ['kmh', 'kph'],
  mph: ['mp/h', 'mi/h'],
  kn: ['kt', 'knot', 'knots'],
  'L/min': ['l/min', 'lpm', 'L/minute'],
  'L/s': ['l/s'],
  'L/h': ['l/h', 'lph'],
  'm³/h': ['m3/h'],
  g: ['gram', 'grams'],
  kg: ['kilogram'],
};

const exact = new Map<string, string>();
const folded = new Map<string, string>();
for (const table of Object.values(UNITS)) for (const unit of Object.keys(table)) exact.set(unit, unit);
for (const [unit, spellings] of Object.entries(SPELLINGS)) for (const spelling of spellings) exact.set(spelling, unit);
for (const [spelling, unit] of exact) {
  const key = spelling.toLowerCase();
  // Two units that differ by case alone are never told apart by guessing.
  folded.set(key, folded.has(key) && folded.get(key) !== unit ? '' : unit);
}

/** The one spelling used here of a unit, or undefined when it is not known. */
export function unitName(spelling: string): string | undefined {
  const trimmed = spelling.trim().replace(/\s+/g, ' ');
  return exact.get(trimmed) ?? (folded.get(trimmed.toLowerCase()) || undefined);
}

/** How to bring a value of `unit` to the canonical unit of the quantity; undefined when that cannot be done. */
export function unitConversion(quantity: Quantity, unit: string): UnitConversion | undefined {
  const name = unitName(unit);
  if (name === undefined) return undefined;
  const table = UNITS[quantity];
  return Object.hasOwn(table, name) ? table[name] : undefined;
}

/** What may be written for the unit of a quantity, for messages. */
export const acceptedUnits = (quantity: Quantity): string[] => Object.keys(UNITS[quantity]);
