import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { PACKAGE_CONFIG } from '../../../src/app/config/paths.js';
import { leafturn } from './support.js';

const folder = mkdtempSync(join(tmpdir(), 'leafturn-rules-'));
const write = (name: string, text: string): string => {
  writeFileSync(join(folder, name), text);
  return name;
};
const CASE = (id: string, amount: string) => `
- id: ${id}
  source: practice
  given:
    group: faucaria
    on: { latitude: 51, date: 2027-05-05 }
    plant: { phase: growing, firmness: soft }
    pot: { dryDays: 6 }
    house: { recent: { nightMin: 11, dayMax: 23, dli: 22 }, tonight: { min: 11, wetHours: 0 } }
  expect: { amount: ${amount} }
`;

describe('leafturn rules test', () => {
  it('closes with the count and exits 0 when all pass', async () => {
    const ran = await leafturn(['rules', 'test', write('good.yaml', CASE('one', 'full'))], folder);
    expect(ran).toMatchObject({ code: 0, out: '1 passed, 0 failed\n' });
  });

  it('prints each failing case with its trace and exits 1', async () => {
    const files = [write('good.yaml', CASE('one', 'full')), write('bad.yaml', CASE('two', 'none'))];
    const ran = await leafturn(['rules', 'test', ...files], folder);
    expect(ran.code).toBe(1);
    expect(ran.out).toMatch(/^bad\.yaml: two failed\n {2}amount: expected none, got full\n/);
    expect(ran.out).toContain('says: A full drink');
    expect(ran.out).toMatch(/stall\/mild met: policy as-entered/);
    expect(ran.out).toMatch(/recentDayMaxC below 36 °C: 23 °C, met/);
    expect(ran.out).toMatch(/1 passed, 1 failed\n$/);
  });

  it('counts a case that cannot be read as failed, with the reason', async () => {
    const text = CASE('odd', 'full').replace('firmness: soft', 'firmness: sof');
    const ran = await leafturn(['rules', 'test', write('odd.yaml', text)], folder);
    expect(ran.code).toBe(1);
    expect(ran.out).toMatch(/plant\.firmness: expected one of .*Did you mean soft\?/);
  });

  it('exits 2 for a file that is not of this form', async () => {
    const ran = await leafturn(['rules', 'test', write('form.yaml', 'cases: []\n')], folder);
    expect(ran.code).toBe(2);
    expect(ran.err).toMatch(/is not a file of decision cases/);
  });
});

describe('leafturn rules test --coverage and rules facts', () => {
  it('show the rows that were not met, and every fact with its unit', async () => {
    const ran = await leafturn(['rules', 'test', '--coverage', write('good.yaml', CASE('one', 'full'))], folder);
    expect(ran.out).toMatch(/^! safety\/rot +met 0, not met 1, unknown 0$/m);
    expect(ran.out).toMatch(/of 76 rows covered/);
    const facts = await leafturn(['rules', 'facts'], folder);
    expect(facts.code).toBe(0);
    expect(facts.out).toContain('| `tonightMinC` | lowest temperature tonight | °C | indoor forecast |');
  });
});

describe('leafturn rules check', () => {
  const shipped = readFileSync(join(PACKAGE_CONFIG, 'rulebook', 'default.yaml'), 'utf8');

  it('finds nothing wrong with the rulebook that comes with the service', async () => {
    const ran = await leafturn(['rules', 'check'], folder);
    expect(ran.code).toBe(0);
    expect(ran.out).toMatch(/76 rows, 69 limits\. No mistakes\./);
  });

  it('exits 1 and names the line of a gap', async () => {
    const gap = shipped.replace(/ {6}- id: mild\n(?: {8}.*\n(?: {10}- .*\n)*)+/, '');
    expect(gap).not.toBe(shipped);
    const ran = await leafturn(['rules', 'check', write('gap.yaml', gap)], folder);
    expect(ran.code).toBe(1);
    expect(ran.out).toMatch(/gap\.yaml:\d+: tables\[2\]: expected exactly one row for every case .* got a gap/);
    expect(ran.out).toMatch(/1 to mend\.\n$/);
  });

  it('exits 2 and names the line of an unknown fact', async () => {
    const odd = shipped.replace('fact: signRot,', 'fact: signRott,');
    const ran = await leafturn(['rules', 'check', write('odd-fact.yaml', odd)], folder);
    expect(ran.code).toBe(2);
    expect(ran.err).toMatch(/odd-fact\.yaml:\d+: tables\[0\]\.rows\[0\]\.when\[0\]\.fact: .*Did you mean signRot\?/);
  });
});
