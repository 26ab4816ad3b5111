import { createRequire } from 'node:module';

/** The part of PsychroLib the tests use. The package has no types of its own. */
interface PsychroLib {
  readonly SI: number;
  SetUnitSystem(system: number): void;
  GetSatVapPres(airTempC: number): number;
  GetTWetBulbFromRelHum(airTempC: number, relHumidity: number, pressurePa: number): number;
  GetTDewPointFromRelHum(airTempC: number, relHumidity: number): number;
}

const psychrolib = createRequire(import.meta.url)('psychrolib') as PsychroLib;
// Its unit system is global and unset at first.
psychrolib.SetUnitSystem(psychrolib.SI);

export default psychrolib;
