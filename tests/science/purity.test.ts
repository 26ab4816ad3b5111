import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

const folder = new URL('../../src/science/', import.meta.url);
const files = readdirSync(folder, { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.ts'));

/** What a pure layer may not reach for: the clock, chance, the outside. */
const forbidden = [
  { what: 'the clock', pattern: /\bDate\.now\b|\bnew Date\(\s*\)|\bDate\(\s*\)|\bperformance\b|\bhrtime\b/ },
  { what: 'chance', pattern: /Math\.random|\brandomUUID\b|getRandomValues/ },
  { what: 'the outside', pattern: /\bfetch\(|\bprocess\.|\bconsole\.|from 'node:/ },
  { what: 'the local zone', pattern: /\.get(FullYear|Month|Date|Hours|Day)\(|toLocale|\bIntl\./ },
];

/** Code without comments: a docstring may name the clock. */
const codeOf = (name: string) =>
  readFileSync(new URL(name, folder), 'utf8')
    .replaceAll(/\/\*[\s\S]*?\*\//g, '')
    .replaceAll(/\/\/.*$/gm, '');

describe('the science has no clock, no chance and no outside', () => {
  it.each(files)('%s', (name) => {
    const code = codeOf(name);
    for (const { what, pattern } of forbidden) expect(pattern.test(code), `${name} reaches for ${what}`).toBe(false);
    const imports = [...code.matchAll(/from '([^']+)'/g)].map((match) => match[1] ?? '');
    expect(imports.filter((from) => !from.startsWith('.') && from !== 'suncalc')).toEqual([]);
    expect(imports.filter((from) => from.startsWith('../') && name.indexOf('/') === -1)).toEqual([]);
  });

  it('the patterns do catch what they are for', () => {
    const samples = ['Date.now()', 'Math.random()', "from 'node:fs'", 'moment.getHours()'];
    forbidden.forEach(({ pattern }, index) => {
      expect(pattern.test(samples[index] ?? '')).toBe(true);
    });
  });
});
