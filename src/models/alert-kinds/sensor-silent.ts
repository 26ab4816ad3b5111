import { type Quantity, quantityInfo } from '../../domain/quantities.js';
import { durationInWords } from '../../domain/time.js';
import { inSeries } from '../../domain/wording.js';
import { type AlertSubject, type Finding, MAINS_CAUTION, sentences } from './finding.js';
import {
  type ChannelFacts,
  heardAt,
  isForgotten,
  isSilent,
  type SensorFacts,
  type SiteSensors,
} from './sensor-facts.js';

/*
 * Silent sensors: one alert for a sensor, however many channels it has; where a whole house is silent, one for the house
 * and none for its sensors; where the whole site is, one for the site.
 */

const kind = 'sensor-silent' as const;

interface Silence {
  readonly sensor: SensorFacts;
  readonly silent: readonly ChannelFacts[];
  readonly speaking: readonly ChannelFacts[];
}

export function silentSensors(site: SiteSensors): Finding[] {
  const silences = site.sensors.flatMap((sensor): Silence[] => {
    const limits = site.limitsOf(sensor.houseId);
    const channels = sensor.channels.filter((channel) => !isForgotten(channel, site.at));
    const silent = channels.filter((channel) => isSilent(channel, limits, site.at));
    return channels.length === 0
      ? []
      : [{ sensor, silent, speaking: channels.filter((channel) => !silent.includes(channel)) }];
  });
  const gone = site.sensors.filter((sensor) => !silences.some((one) => one.sensor === sensor));
  const houseIds = [...new Set(silences.map(({ sensor }) => sensor.houseId))].filter((id) => id !== null);
  const houses = houseIds.map((id): [string, Silence[]] => [
    id,
    silences.filter(({ sensor }) => sensor.houseId === id),
  ]);
  const siteIsSilent = houses.length > 1 && silences.every(isMute);
  return [
    { kind, houseId: null, subject: '', ...(siteIsSilent ? siteFinding(site, silences) : CLEAR) },
    ...houses.flatMap(([houseId, own]): Finding[] => {
      const isSilentHouse = own.length > 1 && own.every(isMute);
      const subject: AlertSubject = { kind, houseId, subject: '' };
      if (siteIsSilent) return [{ ...subject, known: false }];
      return [{ ...subject, ...(isSilentHouse ? houseFinding(site, houseId, own) : CLEAR) }];
    }),
    ...silences.map((one): Finding => {
      const { houseId, sensorId } = one.sensor;
      const subject: AlertSubject = { kind, houseId, subject: sensorId };
      const mates = silences.filter(({ sensor }) => sensor.houseId === houseId);
      // What says more is told; each of its sensors would only say it again.
      if (siteIsSilent || (houseId !== null && mates.length > 1 && mates.every(isMute)))
        return { ...subject, known: false };
      return { ...subject, ...(one.silent.length === 0 ? CLEAR : sensorFinding(site, one, mates.length)) };
    }),
    ...gone.map(({ houseId, sensorId }): Finding => ({ kind, houseId, subject: sensorId, known: 'gone' })),
  ];
}

const isMute = ({ speaking }: Silence): boolean => speaking.length === 0;
const CLEAR = { known: true, level: 0, clear: true } as const;

const lastHeard = (silences: readonly Silence[]): number =>
  Math.max(...silences.flatMap(({ silent }) => silent.map((channel) => heardAt(channel) ?? 0)));

const quietFor = (site: SiteSensors, silences: readonly Silence[]): string =>
  durationInWords(site.at - lastHeard(silences));

/** What is not known while a quantity is not measured. */
const DEPENDS: Partial<Record<Quantity, string>> = {
  airTempC: 'warmth',
  relHumidityPct: 'damp',
  ppfdUmol: 'light',
  radiationWm2: 'light',
  illuminanceLux: 'light',
  substrateMoisturePct: 'how dry the pots are',
  potWeightG: 'how dry the pots are',
};

const withoutIt = (channels: readonly ChannelFacts[]): string => {
  const lost = [...new Set(channels.flatMap(({ quantity }) => DEPENDS[quantity] ?? []))];
  return lost.length === 0 ? '' : `Until then it tells nothing of ${inSeries(lost)}.`;
};

function siteFinding(site: SiteSensors, silences: readonly Silence[]) {
  return {
    known: true,
    level: 2,
    detail: {
      batchIds: [],
      text: {
        title: 'No sensor of the whole site is heard',
        reason: `None of ${silences.length} sensors has been heard for ${quietFor(site, silences)}. Nothing that is measured is known now: other alerts stand as they were.`,
        whatToDo:
          'Look at the network and the message broker first, then at the power. Look after the plants by eye until then.',
        caution: MAINS_CAUTION,
      },
    },
  } as const;
}

function houseFinding(site: SiteSensors, houseId: string, silences: readonly Silence[]) {
  return {
    known: true,
    level: 2,
    detail: {
      batchIds: [],
      text: {
        title: `No sensor is heard in ${site.houseName(houseId)}`,
        reason: `None of its ${silences.length} sensors has been heard for ${quietFor(site, silences)}. Alerts of this house stand as they were.`,
        whatToDo: 'Look at the power and the gateway of the house. Look after the plants by eye until then.',
        caution: MAINS_CAUTION,
      },
    },
  } as const;
}

function sensorFinding(site: SiteSensors, one: Silence, mates: number) {
  const { sensor, silent } = one;
  const names = inSeries(silent.map(({ quantity }) => quantityInfo(quantity).label));
  const where = sensor.houseId === null ? '' : ` in ${site.houseName(sensor.houseId)}`;
  const alone = isMute(one) && mates === 1 && sensor.houseId !== null;
  return {
    known: true,
    level: isMute(one) ? 2 : 1,
    detail: {
      batchIds: [],
      text: {
        title: isMute(one)
          ? `Sensor ${sensor.sensorId}${where} is silent`
          : `Sensor ${sensor.sensorId}${where} no longer tells its ${names}`,
        reason: sentences(
          `Its ${names} ${silent.length === 1 ? 'has' : 'have'} not been heard for ${quietFor(site, [one])}.`,
          alone ? 'It is the only sensor of the house: its alerts stand as they were.' : '',
          withoutIt(silent),
        ),
        whatToDo: 'Look at its battery or power, then at its radio or cable.',
        caution: MAINS_CAUTION,
      },
    },
  } as const;
}
