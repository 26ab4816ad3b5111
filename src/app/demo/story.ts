import type { Catalogue } from '../../domain/catalogue.js';
import { addDays, civilNoon, instantOnDay, type LocalDay } from '../../domain/time.js';
import { chores } from './chores.js';
import { even } from './random.js';
import { batchIdOf, type DemoBatch, type DemoBench, type DemoSite } from './scenario.js';
import { seasonAt, usualCloth, usualStep } from './season.js';
import { chooseSpecialCases, writeSpecialCases } from './special-cases.js';
import {
  looks,
  mlPerPot,
  phaseEvent,
  type StoryEntry,
  type StoryInput,
  type Telling,
  type Told,
  thirstyAfter,
  type Write,
} from './telling.js';

/** The journal of a site from the first day of the history to the evening before the last, in the order it was entered. */
export function tellStory(input: StoryInput): StoryEntry[] {
  const { site, demo, catalogue } = input;
  const entries: StoryEntry[] = [];
  const dayText = (day: number): LocalDay => addDays(input.firstDay, day);
  const write: Write = (day, clock, by, event, more) => {
    entries.push({
      siteId: site.id,
      happenedAt: instantOnDay(site.zone, dayText(day), clock),
      // Things are written down at the end of the day, or when somebody remembers.
      enteredAt: instantOnDay(site.zone, dayText(day + (more?.enteredDaysLater ?? 0)), '18:30'),
      by,
      event,
      ...(more?.note !== undefined && { note: more.note }),
      ...(more?.tag !== undefined && { tag: more.tag }),
    });
  };
  const streams = new Map<string, (n: number) => number>();
  const chance = (stream: string, n: number): number => {
    let known = streams.get(stream);
    if (!known) {
      known = even(input.seed, `${site.id}/story/${stream}`);
      streams.set(stream, known);
    }
    return known(n);
  };
  const days = daysFrom(input.firstDay, input.lastDay);
  const seasons = Array.from({ length: days + 1 }, (_, day) =>
    seasonAt(civilNoon(site.zone, dayText(day)), site.latitude),
  );
  const seasonOn = (day: number): number => seasons[day] as number;
  const batches = demo.batches.map((batch, index) => toldBatch(demo, batch, index, catalogue, chance, days));
  const telling: Telling = { input, days, batches, write, chance, seasonOn };

  const special = chooseSpecialCases(telling);
  opening(telling, dayText);
  for (let day = 1; day < days; day++) {
    cloths(telling, day);
    // In the last days nobody has watered: that is what the list is for.
    if (day % 3 === 1 && day < days - 4) watering(telling, day);
    phases(telling, day);
    if ((days - day) % 7 === 2) walk(telling, day);
    incidents(telling, day);
    chores(telling, day);
  }
  writeSpecialCases(telling, special);
  return entries
    .map((entry, index) => ({ entry, index }))
    .sort(
      (a, b) => a.entry.enteredAt - b.entry.enteredAt || a.entry.happenedAt - b.entry.happenedAt || a.index - b.index,
    )
    .map(({ entry }) => entry);
}

function daysFrom(first: LocalDay, last: LocalDay): number {
  let days = 0;
  for (let day = first; day < last; day = addDays(day, 1)) days++;
  return days;
}

const find = <T extends { readonly id: string }>(entries: readonly T[], id: string): T => {
  const found = entries.find((entry) => entry.id === id);
  if (!found) throw new Error(`The demo needs ${id}, which the catalogue does not have.`);
  return found;
};

function toldBatch(
  demo: DemoSite,
  batch: DemoBatch,
  index: number,
  catalogue: Catalogue,
  chance: Telling['chance'],
  days: number,
): Told {
  const bench = demo.benches.find((candidate) => candidate.id === batch.benchId) as DemoBench;
  return {
    id: batchIdOf(demo, batch),
    batch,
    group: find(catalogue.speciesGroups, batch.group),
    pot: find(catalogue.pots, batch.potId ?? 'square-7cm-plastic'),
    bench,
    // Seedlings are entered when the first are up.
    arrives: Math.max(0, sownDay(batch, days) + 12),
    watched: chance('watched', index) < 0.6,
    lastDrinkDay: -Math.floor(chance('before', index) * 20),
    lastAmount: 'full',
    leftDryFrom: Number.POSITIVE_INFINITY,
  };
}

/** Ages are told as of the last day. */
const sownDay = (batch: DemoBatch, days: number): number => days - Math.round(batch.ageMonths * 30.44);

function opening({ input, days, batches, write, seasonOn }: Telling, dayText: (day: number) => LocalDay): void {
  const { demo, site } = input;
  const { grower } = demo.people;
  for (const { id, houseId, name, lineId, exposure } of demo.benches)
    write(0, '07:30', grower, {
      kind: 'bench-added',
      benchId: id,
      houseId,
      name,
      ...(lineId && { lineId }),
      ...(exposure && { exposure }),
    });
  for (const { id, batch, arrives } of batches)
    write(arrives, '07:45', grower, {
      kind: 'batch-created',
      batchId: id,
      name: batch.name,
      group: batch.group,
      benchId: batch.benchId,
      potCount: batch.pots,
      sownOn: dayText(sownDay(batch, days)),
      ...(batch.potId && { potId: batch.potId }),
      ...(batch.mixId && { mixId: batch.mixId }),
      ...(batch.worth && { worth: batch.worth }),
    });
  for (const house of site.houses) {
    const cloth = usualCloth(house.id, house.cloths.length, seasonOn(0));
    write(0, '08:15', grower, {
      kind: 'cloth',
      houseId: house.id,
      clothId: cloth === undefined ? null : (house.cloths[cloth]?.id ?? null),
    });
  }
  for (const told of batches.filter(({ watched, arrives }) => watched && arrives === 0))
    write(0, '09:00', grower, phaseEvent(told, seasonOn(0)));
}

function cloths({ input, write, seasonOn }: Telling, day: number): void {
  for (const house of input.site.houses) {
    const now = usualCloth(house.id, house.cloths.length, seasonOn(day));
    if (now === usualCloth(house.id, house.cloths.length, seasonOn(day - 1))) continue;
    const clothId = now === undefined ? null : (house.cloths[now]?.id ?? null);
    write(day, '08:00', input.demo.people.hand, { kind: 'cloth', houseId: house.id, clothId });
  }
}

function grouped<T, K>(entries: readonly T[], keyOf: (entry: T) => K): Map<K, T[]> {
  const groups = new Map<K, T[]>();
  for (const entry of entries) {
    const key = keyOf(entry);
    const group = groups.get(key);
    if (group) group.push(entry);
    else groups.set(key, [entry]);
  }
  return groups;
}

function watering({ input, batches, write, seasonOn, chance }: Telling, day: number): void {
  const season = seasonOn(day);
  const { hand, grower } = input.demo.people;
  const wanting = batches.filter((told) => {
    if (day >= told.leftDryFrom || day <= told.arrives) return false;
    const thirst = thirstyAfter(told, season);
    return thirst !== undefined && day - told.lastDrinkDay >= thirst.days;
  });
  const byLine = grouped(wanting, ({ bench }) => bench.lineId ?? '');
  for (const [lineId, thirsty] of byLine) {
    const onLine = batches.filter(({ bench }) => (bench.lineId ?? '') === lineId);
    // The line runs only when everything on it wants the same; else people carry cans.
    const amounts = new Set(thirsty.map((told) => thirstyAfter(told, season)?.amount));
    const runs = lineId !== '' && thirsty.length === onLine.length && amounts.size === 1;
    for (const [amount, together] of grouped(thirsty, (told) => thirstyAfter(told, season)?.amount ?? 'none'))
      for (const same of grouped(together, ({ pot }) => pot.id).values()) {
        const first = same[0] as Told;
        write(day, chance('hour', day) < 0.5 ? '07:10' : '08:20', chance('who', day) < 0.7 ? hand : grower, {
          kind: 'watering',
          batchIds: same.map(({ id }) => id),
          ...(runs && { lineId }),
          amount,
          mlPerPot: mlPerPot(first.pot, amount),
        });
        for (const told of same) {
          told.lastDrinkDay = day;
          told.lastAmount = amount;
        }
      }
  }
}

function phases({ input, batches, write, seasonOn }: Telling, day: number): void {
  for (const told of batches) {
    if (
      !told.watched ||
      day <= told.arrives ||
      usualStep(told.group, seasonOn(day)) === usualStep(told.group, seasonOn(day - 1))
    )
      continue;
    write(day, '09:10', input.demo.people.grower, phaseEvent(told, seasonOn(day)));
  }
}

/** Once a week somebody walks the benches and writes down some of what is seen. */
function walk({ input, days, batches, write, seasonOn, chance }: Telling, day: number): void {
  batches.forEach((told, index) => {
    if (day <= told.arrives) return;
    if (chance('look', day * 1000 + index) > (day > days - 4 ? 0.65 : 0.35)) return;
    const seen = looks(told, day, seasonOn(day));
    write(day, '10:20', input.demo.people.grower, { kind: 'signs', batchIds: [told.id], ...seen });
  });
}

/** Things that happen to a collection in the course of a season, spread over the batches by chance. */
function incidents({ input, days, batches, write, chance }: Telling, day: number): void {
  const { grower, hand } = input.demo.people;
  const grown = batches.filter(({ batch }) => batch.ageMonths >= 12);
  const some = (stream: string): Told => grown[Math.floor(chance(stream, 0) * grown.length)] as Told;
  const at = (share: number): boolean => day === Math.round(days * share);
  if (at(0.12)) write(day, '11:00', grower, { kind: 'loss', batchId: some('rot').id, potCount: 2, cause: 'rot' });
  if (at(0.3))
    write(
      day,
      '11:30',
      hand,
      { kind: 'loss', batchId: some('pest').id, potCount: 1, cause: 'pest' },
      {
        note: 'White wax at the pot wall.',
      },
    );
  if (at(0.22)) {
    const told = some('repotted');
    write(day, '14:00', grower, { kind: 'repotting', batchIds: [told.id], rootsCut: false });
  }
  if (at(0.45)) {
    const told = some('split');
    write(day, '15:00', grower, {
      kind: 'batch-split',
      batchId: told.id,
      newBatchId: `${told.id}-best`,
      newName: `${told.batch.name}, best plants`,
      potCount: Math.max(1, Math.floor(told.batch.pots / 6)),
      benchId: told.bench.id,
    });
  }
  if (at(0.55))
    write(day, '07:50', hand, { kind: 'note', text: 'Gutter cleaned, two panes washed.' }, { enteredDaysLater: 2 });
  if (at(0.7)) {
    const told = some('moved');
    const other = input.demo.benches.find(
      (bench) => bench.houseId === told.bench.houseId && bench.id !== told.bench.id,
    );
    if (other) {
      write(day, '13:00', hand, { kind: 'batch-moved', batchId: told.id, benchId: other.id });
      told.bench = other;
    }
  }
}
