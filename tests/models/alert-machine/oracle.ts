import type { AlertLook, AlertTell, AlertTimes } from '../../../src/models/alert-machine.js';

/*
 * The history of one alert told another way: not step by step with a state, but each time by walking back over all the
 * looks so far. Slow, and therefore easy to see through.
 */

type Known = Extract<AlertLook, { known: true }>;
export interface Told {
  readonly at: number;
  readonly tell: Exclude<AlertTell, null>;
}

/** Time that two neighbouring looks vouch for together. */
const between = (a: AlertLook | undefined, b: AlertLook, times: AlertTimes): number =>
  a?.known === true && b.known && b.at - a.at <= times.longestGapMs ? b.at - a.at : 0;

/** Looks from the last one back, as long as a test on known looks holds; unknown looks are walked over. */
function lastRun(looks: readonly AlertLook[], holds: (look: Known) => boolean): AlertLook[] {
  let start = looks.length;
  while (start > 0) {
    const look = looks[start - 1] as AlertLook;
    if (look.known && !holds(look)) break;
    start -= 1;
  }
  while (looks[start]?.known === false) start += 1;
  return looks.slice(start);
}

const lasted = (run: readonly AlertLook[], times: AlertTimes): number =>
  run.reduce((sum, look, index) => sum + between(run[index - 1], look, times), 0);

/** What is to be told over a whole series, nobody acknowledging or putting off anything. */
export function toldOver(series: readonly AlertLook[], times: AlertTimes): Told[] {
  const told: Told[] = [];
  // Each alert begins after the last one was over.
  let from = 0;
  let worst = 0;
  let openSince: number | undefined;
  series.forEach((look, index) => {
    if (!look.known) return;
    const looks = series.slice(from, index + 1);
    if (openSince === undefined) {
      const run = lastRun(looks, ({ level }) => level > 0);
      if (look.level === 0 || !(look.atOnce === true || lasted(run, times) >= times.pendingMs)) return;
      openSince = index;
      worst = look.level;
      told.push({ at: look.at, tell: 'new' });
      return;
    }
    const sinceFired = series.slice(openSince, index + 1);
    const run = lastRun(sinceFired, ({ level, clear }) => level === 0 && clear);
    if (look.level === 0 && look.clear && lasted(run, times) >= times.holdMs) {
      told.push({ at: look.at, tell: 'over' });
      openSince = undefined;
      worst = 0;
      from = index + 1;
    } else if (look.level > worst) {
      worst = look.level;
      told.push({ at: look.at, tell: 'worse' });
    }
  });
  return told;
}
