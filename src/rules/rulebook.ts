import type { Problem } from '../domain/errors.js';
import { schemaProblems } from '../domain/problems.js';
import { type Compiled, compileRow } from './evaluate.js';
import {
  type LimitDeclaration,
  type RulebookFile,
  rulebookFileSchema,
  STEPS,
  type Step,
  type Table,
} from './schema.js';
import { vocabularyProblems } from './vocabulary.js';

/** A rulebook that was read whole and found sound. */
export interface Rulebook {
  readonly name: string;
  /** Hash of the content: the same rows and limits have the same revision, wherever they are read. */
  readonly revision: string;
  readonly sources: Readonly<Record<string, string>>;
  readonly limits: ReadonlyMap<string, LimitDeclaration>;
  readonly tables: Readonly<Record<Step, CompiledTable>>;
  readonly file: RulebookFile;
}
export interface CompiledTable {
  readonly id: Step;
  readonly hit: Table['hit'];
  readonly about: string;
  readonly rows: readonly Compiled[];
}

export type RulebookResult =
  | { readonly ok: true; readonly rulebook: Rulebook }
  | { readonly ok: false; readonly problems: readonly Problem[] };

/** Reads the parsed content of a rulebook file; everything that is wrong is listed at once. */
export function parseRulebook(raw: unknown): RulebookResult {
  const parsed = rulebookFileSchema.safeParse(raw);
  if (!parsed.success) return { ok: false, problems: schemaProblems(rulebookFileSchema, raw, parsed.error) };
  const file = parsed.data;
  const problems = [...missingTables(file), ...vocabularyProblems(file)];
  if (problems.length > 0) return { ok: false, problems };
  const tables = Object.fromEntries(
    file.tables.map((table): [Step, CompiledTable] => [
      table.id,
      { id: table.id, hit: table.hit, about: table.about, rows: table.rows.map((row) => compileRow(table.id, row)) },
    ]),
  ) as Record<Step, CompiledTable>;
  return {
    ok: true,
    rulebook: {
      name: file.name,
      revision: contentHash(file),
      sources: file.sources,
      limits: new Map(file.limits.map((limit) => [limit.name, limit])),
      tables,
      file,
    },
  };
}

const UNIQUE_STEPS: readonly Step[] = ['stall'];

function missingTables(file: RulebookFile): Problem[] {
  return STEPS.flatMap((step): Problem[] => {
    const index = file.tables.findIndex((table) => table.id === step);
    const table = file.tables[index];
    if (!table)
      return [{ path: 'tables', expected: `a table for the step ${step}`, got: 'nothing', mend: 'Add the table.' }];
    const hit = UNIQUE_STEPS.includes(step) ? 'unique' : 'collect';
    return table.hit === hit
      ? []
      : [{ path: `tables[${index}].hit`, expected: `${hit} for the step ${step}`, got: table.hit }];
  });
}

const FNV_OFFSET = 0x6c62272e07bb014262b821756295c58dn;
const FNV_PRIME = 0x0000000001000000000000000000013bn;
const MASK = (1n << 128n) - 1n;

/** Hash of plain data, independent of the order of keys. Not for secrets: it only tells revisions apart. */
export const contentHash = (content: unknown): string =>
  fnv1a128(new TextEncoder().encode(canonical(content))).slice(0, 16);

/** Source: FNV-1a, 128 bit, IETF draft-eastlake-fnv. */
export function fnv1a128(bytes: Uint8Array): string {
  let hash = FNV_OFFSET;
  for (const byte of bytes) hash = ((hash ^ BigInt(byte)) * FNV_PRIME) & MASK;
  return hash.toString(16).padStart(32, '0');
}

function canonical(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
  if (typeof value === 'object' && value !== null)
    return `{${Object.entries(value)
      .filter(([, item]) => item !== undefined)
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([key, item]) => `${JSON.stringify(key)}:${canonical(item)}`)
      .join(',')}}`;
  return JSON.stringify(value) ?? 'null';
}
