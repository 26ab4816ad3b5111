import { seasonAngleAhead, withinSeasonWindow } from '../../src/science/season.js';
import { median, quantile } from '../../src/science/statistics/quantiles.js';
import type { GivenDrink } from './calendar-year.js';
import type { Difference, PublishedStatement } from './published-calendars.js';

/** One figure of a simulated year beside the published one. */
export interface Compared {
  readonly of: string;
  readonly published: string;
  readonly simulated: string;
  /** Days from the published figure, 0 within its range. */
  readonly offDays: number;
  readonly agrees: boolean;
}

const DAYS_PER_DEGREE = 365.2422 / 360;
/** The weeks with water agree when each end is within this. */
const AGREES_DAYS = 14;
/** A calendar speaks of a collection: its water begins with the first plants that are ready, and ends with the last. */
const FIRST_SHARE = 0.25;
const LAST_SHARE = 0.75;
/** A rhythm agrees when the days between two drinks are within this factor of the published range. */
const RHYTHM_FACTOR = 1.5;
/** A season has more water when it gets this many times as much. */
const MORE_FACTOR = 1.3;
/** A light drink beside a full one, by what it pours. */
const LIGHT_SHARE = 0.15;

type Batches = readonly (readonly GivenDrink[])[];

export function compareWith(statement: PublishedStatement, batches: Batches): Compared[] {
  const { says } = statement;
  switch (says.kind) {
    case 'dry season': {
      const gaps = batches.map((drinks) => dryGap(drinks, says.dry));
      return [
        end(
          'last drink before it',
          says.dry[0],
          gaps.map(([last]) => last),
          LAST_SHARE,
        ),
        end(
          'first drink after it',
          says.dry[1],
          gaps.map(([, first]) => first),
          FIRST_SHARE,
        ),
      ];
    }
    case 'first drink': {
      const [from, to] = says.within;
      const firsts = batches.flatMap((drinks) => {
        const after = drinks.map(({ angle }) => seasonAngleAhead(REST_MIDDLE, angle));
        return after.length === 0 ? [] : [(REST_MIDDLE + Math.min(...after)) % 360];
      });
      const middle = circularQuantile(firsts, from, FIRST_SHARE);
      const inside = withinSeasonWindow(middle, [from, to]);
      const off = inside ? 0 : nearest(signedDegrees(middle, from), signedDegrees(middle, to)) * DAYS_PER_DEGREE;
      return [
        {
          of: 'first drink',
          published: `${from} to ${to}`,
          simulated: String(Math.round(middle)),
          offDays: Math.round(off),
          agrees: Math.abs(off) <= AGREES_DAYS,
        },
      ];
    }
    case 'rhythm': {
      const [shortest, longest] = says.everyDays;
      const gaps = batches.flatMap((drinks) => gapsWithin(drinks, says.during));
      const middle = gaps.length === 0 ? Number.POSITIVE_INFINITY : median(gaps);
      return [
        {
          of: 'days between drinks',
          published: `${shortest} to ${longest}`,
          simulated: String(Math.round(middle)),
          offDays:
            middle < shortest ? Math.round(middle - shortest) : middle > longest ? Math.round(middle - longest) : 0,
          agrees: middle >= shortest / RHYTHM_FACTOR && middle <= longest * RHYTHM_FACTOR,
        },
      ];
    }
    case 'more water': {
      const rate = (windows: readonly (readonly [number, number])[]) => {
        const degrees = windows.reduce((sum, [from, to]) => sum + seasonAngleAhead(from, to), 0);
        const water = batches.flatMap((drinks) =>
          drinks
            .filter(({ angle }) => windows.some((window) => withinSeasonWindow(angle, window)))
            .map(({ amount }) => (amount === 'full' ? 1 : LIGHT_SHARE)),
        );
        return (water.reduce((sum, share) => sum + share, 0) / batches.length / degrees) * 30;
      };
      const [in_, out] = [rate(says.during), rate(says.than)];
      return [
        {
          of: 'full drinks a month, in and out of season',
          published: 'more, less',
          simulated: `${in_.toFixed(1)}, ${out.toFixed(1)}`,
          offDays: 0,
          agrees: in_ >= MORE_FACTOR * out,
        },
      ];
    }
  }
}

/** The named difference that covers what was found, if any. */
export const namedDifference = (statement: PublishedStatement, found: Compared): Difference | undefined =>
  statement.differs?.find(
    ({ of, days: [least, most] }) => of === found.of && found.offDays >= least && found.offDays <= most,
  );

/** Middle of the hot rest, from which the first drink is counted. */
const REST_MIDDLE = 285;

/** How far a middle is moved to the side the angles lie on. */
const SIDE_DEG = 120;

const signedDegrees = (angle: number, from: number): number => ((angle - from + 540) % 360) - 180;
const nearest = (a: number, b: number): number => (Math.abs(a) <= Math.abs(b) ? a : b);

/** @param towards -1: the angles lie before the published one, a little after at most; 1: after it; 0: on either side */
function circularQuantile(angles: readonly number[], around: number, share: number, towards: -1 | 0 | 1 = 0): number {
  if (angles.length === 0) return Number.NaN;
  const apart = angles.map((angle) => ((angle - around - towards * SIDE_DEG + 900) % 360) - 180 + towards * SIDE_DEG);
  return (around + quantile(apart, share) + 720) % 360;
}

function end(of: string, published: number, angles: readonly number[], share: number): Compared {
  const middle = circularQuantile(angles, published, share, share === LAST_SHARE ? -1 : 1);
  const offDays = Math.round(signedDegrees(middle, published) * DAYS_PER_DEGREE);
  return {
    of,
    published: String(published),
    simulated: String(Math.round(middle)),
    offDays,
    agrees: Math.abs(offDays) <= AGREES_DAYS,
  };
}

/** The stretch without a drink that covers most of the published dry season. */
function dryGap(drinks: readonly GivenDrink[], [from, to]: readonly [number, number]): readonly [number, number] {
  const angles = drinks.map(({ angle }) => angle).sort((a, b) => a - b);
  const whole = seasonAngleAhead(from, to);
  const covers = (last: number, first: number): number => {
    // Degrees of the dry season, counted one by one, that lie between two drinks.
    let inside = 0;
    for (let at = 0; at < whole; at += 1)
      if (seasonAngleAhead(last, from + at) < seasonAngleAhead(last, first)) inside += 1;
    return inside;
  };
  let best: readonly [number, number] = [from, to];
  let most = -1;
  angles.forEach((last, index) => {
    const first = angles[(index + 1) % angles.length] as number;
    const covered = angles.length === 1 ? whole : covers(last, first);
    if (covered > most) {
      most = covered;
      best = [last, first];
    }
  });
  return best;
}

/** Days from one drink to the next, both in the season. */
function gapsWithin(drinks: readonly GivenDrink[], windows: readonly (readonly [number, number])[]): number[] {
  const gaps: number[] = [];
  for (const [index, drink] of drinks.entries()) {
    const next = drinks[index + 1];
    if (!next) continue;
    // A rest without two drinks in it still has a rhythm: the drinks that lie about it.
    const middle = (drink.angle + seasonAngleAhead(drink.angle, next.angle) / 2) % 360;
    if (windows.some((window) => withinSeasonWindow(middle, window)))
      gaps.push(seasonAngleAhead(drink.angle, next.angle) * DAYS_PER_DEGREE);
  }
  return gaps;
}
